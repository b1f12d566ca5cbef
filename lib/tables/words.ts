import type {JudgeDocument} from "../result/documents.ts";

/** Above this smallest p the lot alone cannot call anything shown at 95 %. */
const USUAL_P = 0.05;

/** A number with its sign and so many digits after the point. */
export function signed(value: number, digits: number): string {
  return `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(digits)}`;
}

/** Runs that were left out with their reasons: "left out: run 5 (lifted at 95)". */
export function excludedWords({excluded}: JudgeDocument): string {
  if (excluded.length === 0) return "none left out";
  return `left out: ${excluded.map(run => `run ${run.run} (${run.reason})`).join("; ")}`;
}

/** What the re-deals of the plan say, with the smallest p that they can reach. */
export function lotWords({p, floor, deals, basis}: NonNullable<JudgeDocument["permutation"]>): string {
  const limit =
    floor > USUAL_P
      ? `, so this plan cannot reach p < ${USUAL_P} by lot alone and the verdict rests on the model`
      : "";
  return `p = ${probability(p)} over ${deals} re-deals (${basis}); the smallest that they can reach is ${probability(floor)}${limit}`;
}

/** A probability with two digits, never printed as 0. */
function probability(p: number): string {
  return String(Number(p.toPrecision(2)));
}
