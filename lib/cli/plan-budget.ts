import type {BudgetRecord} from "../result/plan-document.ts";

/** What a day costs by a run, a change, a warm-up; left out = the stated default. */
export interface BudgetOptions {
  minutesPerRun?: number;
  minutesPerChange?: number;
  litresPerRun?: number;
}

/** Defaults of common practice, without a source: each is printed as such and can be given instead. */
const USUAL = {
  warmUpMinutes: 20,
  settlingRuns: 2,
  minutesPerRun: 6,
  minutesPerChange: 10,
  litresPerRun: 0.4,
  massKg: 1400,
} as const;

/** Petrol, middle of EN 228 (720 to 775 kg/m³) [kg/l]. */
const FUEL_KG_PER_LITRE = 0.75;
/** Iron of four brake discs [kg], common practice; its heat capacity is 460 J/(kg K). */
const DISC_KG = 25;
const IRON_J_PER_KG_K = 460;

/** Settling runs before the first counted one. */
export const SETTLING_RUNS = USUAL.settlingRuns;

/**
 * Minutes, fuel and heat of a planned day. Heat is what one stop from the end of the band would leave in the brakes, as if they took
 * all of it and lost nothing: an upper bound, for the choice of minutes between runs.
 *
 * @param day runs, changes of part (or refittings), speed at the end of the band, mass where the session gives it
 */
export function dayBudget(
  {runs, fittings, toMps, massKg}: {runs: number; fittings: number; toMps: number; massKg: number | null},
  {minutesPerRun, minutesPerChange, litresPerRun}: BudgetOptions = {},
): BudgetRecord[] {
  const told = (given: number | undefined, usual: number, option: string) =>
    given === undefined ? `${usual} by common practice, ${option}` : "as given";
  const driven = runs + USUAL.settlingRuns;
  const perRun = minutesPerRun ?? USUAL.minutesPerRun;
  const perChange = minutesPerChange ?? USUAL.minutesPerChange;
  const perLitre = litresPerRun ?? USUAL.litresPerRun;
  const mass = massKg ?? USUAL.massKg;
  const minutes = USUAL.warmUpMinutes + driven * perRun + fittings * perChange;
  const litres = driven * perLitre;
  const stopJ = 0.5 * mass * toMps ** 2;
  const massSource = massKg === null ? `a mass of ${USUAL.massKg} kg, common practice` : "the session's mass";
  return [
    {what: "warm-up", value: USUAL.warmUpMinutes, unit: "min", source: "common practice"},
    {
      what: `${runs} runs and ${USUAL.settlingRuns} settling runs`,
      value: driven * perRun,
      unit: "min",
      source: `minutes a run, way back and notes: ${told(minutesPerRun, USUAL.minutesPerRun, "--minutes-per-run")}`,
    },
    {
      what: `${fittings} changes or refittings of the part`,
      value: fittings * perChange,
      unit: "min",
      source: `minutes each: ${told(minutesPerChange, USUAL.minutesPerChange, "--minutes-per-change")}`,
    },
    {what: "the whole day", value: minutes, unit: "min", source: "sum"},
    {
      what: "fuel",
      value: litres,
      unit: "l",
      source: `litres a run and its way back: ${told(litresPerRun, USUAL.litresPerRun, "--litres-per-run")}`,
    },
    {
      what: "mass lost with it",
      value: (100 * litres * FUEL_KG_PER_LITRE) / mass,
      unit: "%",
      source: `${FUEL_KG_PER_LITRE} kg/l and ${massSource}; it falls evenly through the day, which a drift-balanced order takes out`,
    },
    {
      what: "heat of one stop from the end of the band",
      value: stopJ / 1e6,
      unit: "MJ",
      source: `½·m·v² with ${massSource}`,
    },
    {
      what: "brake discs warmer by one such stop, at most",
      value: stopJ / (DISC_KG * IRON_J_PER_KG_K),
      unit: "K",
      source: `${DISC_KG} kg of iron, common practice; roll out instead where the road is long enough`,
    },
  ];
}
