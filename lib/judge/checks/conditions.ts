import type {Conditions} from "../../result/session.ts";
import type {BandChange} from "../sensitivity.ts";
import {ARMS, type Check, type CheckContext, doubtful, type Finding, held, notCheckable} from "./check.ts";
import {channelInPass, type RunView} from "./run-view.ts";
import {anyWords, meanOf, runsWords, signed} from "./words.ts";

/** A condition that is noted (or logged) run by run and compared between the arms. */
interface Condition {
  name: string;
  /** with article, for sentences: "the fuel on board" */
  what: string;
  key: keyof Conditions;
  /** log channel whose value at band entry stands in where nothing is noted */
  channel?: string;
  /** arms may differ by so much, in SI */
  limit: number;
  /** SI value → number shown: scale and zero */
  shown: {unit: string; scale: number; zero?: number; digits: number};
  /** what a difference changes at the car, of which the seconds are computed; absent where no first cut is known */
  change?: (difference: number, baseline: number) => BandChange;
  /** in words what `change` supposes */
  supposing?: string;
  /** the noted value depends on the way driven */
  byDirection?: boolean;
  /** published limits of the value itself, in SI; `doubts` = beyond them the test is doubtful, else it is told only, since both arms share it */
  range?: {low: number; high: number; words: string; doubts: boolean};
  source?: string;
}

const CELSIUS = 273.15;
/** Density of petrol [kg/m³], middle of the 720–775 of EN 228. */
const FUEL_KG_M3 = 745;
/** A person with what they carry [kg]: 68 + 7, ISO 2416. */
export const OCCUPANT_KG = 75;
/** Air temperature is taken at the start of a run: mean of the log over so long before band entry [s]. */
const LEAD_S = 1;
/** Rolling resistance goes with pressure to about this power (SAE J2452 fits, from memory). */
const ROLLING_POWER = -0.4;

/** 10 litres weigh 7.5 kg: 0.5 % of a small car and so of its band time, the least that a club's afternoon can show. */
const FUEL_M3 = 0.01;
/** Air 5 K warmer is 1.7 % thinner (ideal gas at 293 K): as much power as many a part is worth. */
const AIR_K = 5;
/** Intake air 8 K warmer at the start of a run is 2.7 % thinner; part of it is gone when the air flows. */
const INTAKE_K = 8;
/** Thermostats hold within some 5 K; beyond that an engine is not at the same heat. */
const COOLANT_K = 8;
/** 0.15 bar of 2.3 is 7 %: some 3 % of rolling resistance. */
const TYRE_PA = 15_000;
/** SAE J1321 (2012): the mean wind changes by at most 5 mph between segments. */
const WIND_MPS = 2.2352;

const CONDITIONS: readonly Condition[] = [
  {
    name: "fuel",
    what: "the fuel on board",
    key: "fuelM3",
    limit: FUEL_M3,
    shown: {unit: "litres", scale: 1000, digits: 1},
    change: difference => ({massKg: FUEL_KG_M3 * difference}),
  },
  {
    name: "occupants",
    what: "the number of occupants",
    key: "occupants",
    limit: 0,
    shown: {unit: "persons", scale: 1, digits: 1},
    change: difference => ({massKg: OCCUPANT_KG * difference}),
  },
  {
    name: "tyre pressure",
    what: "the tyre pressure",
    key: "tyrePressurePa",
    limit: TYRE_PA,
    shown: {unit: "bar", scale: 1e-5, digits: 2},
    change: (difference, baseline) => ({rollingShare: (1 + difference / baseline) ** ROLLING_POWER - 1}),
  },
  {
    name: "coolant temperature",
    what: "the coolant at the start",
    key: "coolantK",
    channel: "coolant-temperature",
    limit: COOLANT_K,
    shown: {unit: "K", scale: 1, digits: 1},
  },
  {
    name: "intake temperature",
    what: "the intake air at the start",
    key: "intakeTemperatureK",
    channel: "intake-temperature",
    limit: INTAKE_K,
    shown: {unit: "K", scale: 1, digits: 1},
    change: (difference, baseline) => ({powerShare: -difference / baseline}),
    supposing: "if power goes with the density of the intake air",
  },
  {
    name: "air temperature",
    what: "the air temperature",
    key: "airTemperatureK",
    channel: "air-temperature",
    limit: AIR_K,
    shown: {unit: "K", scale: 1, digits: 1},
    change: (difference, baseline) => ({
      powerShare: -difference / baseline,
      airDensityShare: -difference / baseline,
    }),
    supposing: "if power goes with air density",
    range: {low: CELSIUS + 5, high: CELSIUS + 35, words: "5 to 35 °C (SAE J1263)", doubts: false},
    source: "range 5–35 °C: SAE J1263; 40 CFR 610.64 has the difference between configurations kept small",
  },
  {
    name: "wind",
    what: "the headwind",
    key: "windMps",
    limit: WIND_MPS,
    shown: {unit: "m/s", scale: 1, digits: 1},
    change: difference => ({headwindMps: difference}),
    byDirection: true,
    range: {low: -5, high: 5, words: "5 m/s (WLTP; older type approval 3 m/s)", doubts: true},
    source:
      "change between segments ≤ 5 mph (2.2 m/s), mean ≤ 12 mph: SAE J1321 (2012); mean ≤ 3 m/s: Regulation 83; mean ≤ 5 m/s: WLTP, from memory",
  },
];

/** One check a condition. */
export const conditionChecks: readonly Check[] = CONDITIONS.map(condition => {
  const {name, limit, shown, source, what, range} = condition;
  const check: Check = {
    name,
    rule: `${what} is the same in both arms${range?.doubts ? `, and within ${range.words}` : ""}`,
    threshold:
      limit > 0
        ? `${Number((limit * shown.scale).toFixed(shown.digits))} ${shown.unit} between the means of the arms`
        : "no difference",
    judge: context => judgeCondition(condition, context),
  };
  return source === undefined ? check : {...check, source};
});

function judgeCondition(condition: Condition, context: CheckContext): Finding {
  const {what, limit, shown, change, range} = condition;
  const values = new Map(context.used.map(view => [view, valueIn(view, condition)]));
  const missing = context.used.filter(view => values.get(view) === null);
  if (missing.length > 0) {
    const where = anyWords(missing, context.used);
    return notCheckable(`${what} was not noted${condition.channel ? " or logged" : ""} for ${where}`);
  }
  const known = values as Map<RunView, number>;
  const difference = armDifference(context.used, known, condition.byDirection ?? false);
  if (difference === null)
    return notCheckable(`${what} cannot be compared: no direction was driven in both arms`);
  const baseline = meanOf(context.used.filter(view => view.arm === "baseline").map(view => known.get(view)!));
  const explains = change ? context.explain(change(difference, baseline)) : null;
  const words = `${what} of the changed arm is on average ${signed(difference * shown.scale, shown.digits)} ${shown.unit} against the baseline${explainedWords(explains, condition, context)}`;
  const outside = range
    ? context.used.filter(view => known.get(view)! < range.low || known.get(view)! > range.high)
    : [];
  const limits = outside.length > 0 ? `; ${runsWords(outside)} outside ${range!.words}` : "";
  const over = Math.abs(difference) > limit + 1e-12;
  if (over)
    return doubtful(
      `${words}, more than ${Number((limit * shown.scale).toFixed(shown.digits))} ${shown.unit}${limits}`,
      explains,
    );
  return outside.length > 0 && range!.doubts
    ? doubtful(`${words}${limits}`, explains)
    : held(`${words}${limits}`, explains);
}

/** Mean of the changed arm minus that of the baseline; by direction the mean of both ways, null where none was driven by both. */
export function armDifference(
  used: readonly RunView[],
  values: ReadonlyMap<RunView, number>,
  byDirection: boolean,
): number | null {
  const ways = byDirection ? [...new Set(used.map(view => view.direction))] : [undefined];
  const differences = ways.flatMap(way => {
    const here = used.filter(view => way === undefined || view.direction === way);
    const [a, b] = ARMS.map(arm => here.filter(view => view.arm === arm).map(view => values.get(view)!));
    return a.length > 0 && b.length > 0 ? [meanOf(b) - meanOf(a)] : [];
  });
  return differences.length > 0 ? meanOf(differences) : null;
}

function valueIn(view: RunView, {key, channel}: Condition): number | null {
  const noted = view.loaded.run.conditions[key];
  if (noted !== null || channel === undefined) return noted;
  const logged = channelInPass(view, channel, LEAD_S);
  if (!logged) return null;
  const start = logged.values.filter((value, i) => Number.isFinite(value) && logged.timeS[i] <= view.startS);
  return start.length > 0 ? meanOf([...start]) : null;
}

function explainedWords(explains: number | null, {supposing}: Condition, {car}: CheckContext): string {
  if (explains === null || explains === 0) return "";
  const assumed = car.assumed.length > 0 ? `, with ${car.assumed.join(", ")} assumed` : "";
  return `: this would explain ${signed(explains, 3)} s${supposing ? ` ${supposing}` : ""}${assumed}`;
}
