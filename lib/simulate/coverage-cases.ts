import type {OrderName} from "../result/session.ts";
import type {PowerVariation} from "./scenario.ts";

/** What goes on beside the part on the days of a case. */
export type NoiseName =
  | "normal"
  | "skewed"
  | "bad-runs"
  | "drift"
  | "lag-one"
  | "carry-over"
  | "fitting-effect";

/** A plan and the noise it meets: one row of the table of coverage. */
export interface CoverageCase {
  order: OrderName;
  runs: number;
  /** spread of power from run to run, relative */
  spread: number;
  noise: NoiseName;
}

/** True relative change of power by the part, small enough to be what an enthusiast looks for. */
export const CASE_POWER = 0.02;

const QUIET: PowerVariation = {
  runSd: 0,
  shape: "normal",
  lagOne: 0,
  badShare: 0,
  badLoss: 0.03, // a tail wind missed, a wrong line through a bend: several times the spread of good runs
  driftLoss: 0,
  heatLoss: 0,
  heatRecoveryMin: 12,
  heatIntakeK: 0,
  fittingSd: 0,
  carryOver: 0,
};

/** Words of each noise and what it changes; `share` of the spread between runs where it grows with it. */
const NOISES: Record<NoiseName, {words: string; change(spread: number): Partial<PowerVariation>}> = {
  normal: {words: "normal", change: () => ({})},
  skewed: {words: "skewed (−1.4, tail to low power)", change: () => ({shape: "skewed"})},
  "bad-runs": {words: "8 % of runs lose 1.5 to 4.5 %", change: () => ({badShare: 0.08})},
  drift: {words: "0.3 % of power lost a run", change: () => ({driftLoss: 0.003})},
  "lag-one": {words: "neighbouring runs correlate by 0.3", change: () => ({lagOne: 0.3})},
  "carry-over": {
    words: "half of the part's effect stays for one run after a change",
    change: () => ({carryOver: 0.5}),
  },
  "fitting-effect": {
    words: "each fitting has a deviation of its own, half the spread between runs",
    change: spread => ({fittingSd: spread / 2}),
  },
};

/** Noises that no interval by run can be asked to cover: they bias, or tie runs together that the interval counts as free. */
export const NOT_PROMISED: readonly NoiseName[] = ["carry-over", "fitting-effect"];

/** Spreads from run to run: a careful driver on a quiet road, and a hasty one. */
export const CASE_SPREADS: readonly number[] = [0.008, 0.02];

/** Plans of the table, by the number of runs in all. */
export const CASE_PLANS: readonly {order: OrderName; runs: number}[] = [
  ...range(3, 12).map(n => ({order: "complete" as const, runs: 2 * n})),
  ...range(4, 12).map(n => ({order: "pairs" as const, runs: 2 * n})),
  ...range(1, 4).map(n => ({order: "abba" as const, runs: 4 * n})),
  ...[8, 12, 16].map(runs => ({order: "drift-balanced" as const, runs})),
];

/** Every row of the table: plan by plan, spread by spread, noise by noise. */
export function coverageCases(): CoverageCase[] {
  const noises = Object.keys(NOISES) as NoiseName[];
  return CASE_PLANS.flatMap(plan =>
    CASE_SPREADS.flatMap(spread => noises.map(noise => ({...plan, spread, noise}))),
  );
}

/** How power varies on the days of a case. */
export function caseVariation({spread, noise}: CoverageCase): PowerVariation {
  return {...QUIET, runSd: spread, ...NOISES[noise].change(spread)};
}

/** A noise in words. */
export function noiseWords(noise: NoiseName): string {
  return NOISES[noise].words;
}

/** A plan in words: "5 + 5 unpaired", "6 pairs", "2 ABBA blocks", "12 runs drift-balanced". */
export function planWords({order, runs}: {order: OrderName; runs: number}): string {
  switch (order) {
    case "complete":
      return `${runs / 2} + ${runs / 2} unpaired`;
    case "pairs":
      return `${runs / 2} pairs`;
    case "abba":
      return `${runs / 4} ABBA ${runs === 4 ? "block" : "blocks"}`;
    case "blocks-of-4":
      return `${runs / 4} blocks of four`;
    case "drift-balanced":
      return `${runs} runs drift-balanced`;
  }
}

function range(from: number, to: number): number[] {
  return Array.from({length: to - from + 1}, (_, i) => from + i);
}
