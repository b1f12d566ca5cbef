import type {OrderName, Plan} from "../../lib/result/session.ts";
import type {TrialRun} from "../../lib/trial/model.ts";

/** Runs from labels (1 = changed) and values. */
export function toRuns(
  labels: ArrayLike<number>,
  values: ArrayLike<number>,
  more: (i: number) => Partial<TrialRun> = () => ({}),
): TrialRun[] {
  return Array.from(
    labels,
    (label, i): TrialRun => ({
      run: i + 1,
      arm: label ? "changed" : "baseline",
      value: values[i],
      block: null,
      direction: null,
      timeS: null,
      refitted: false,
      ...more(i),
    }),
  );
}

/** Labels of a word like "ABBA": A = baseline. */
export function labelsOf(order: string): number[] {
  return [...order].map(letter => (letter === "A" ? 0 : 1));
}

export function toPlan(order: OrderName, runs: number | null = null, more: Partial<Plan> = {}): Plan {
  return {order, runs, seed: null, looks: 1, locked: null, ...more};
}
