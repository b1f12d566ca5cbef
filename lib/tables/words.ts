import type {JudgeDocument} from "../result/documents.ts";

/** A number with its sign and so many digits after the point; what rounds to zero is +0. */
export function signed(value: number, digits: number): string {
  const text = Math.abs(value).toFixed(digits);
  return `${value < 0 && Number(text) !== 0 ? "−" : "+"}${text}`;
}

/** A number in digits with a true minus sign. */
export function minus(digits: string): string {
  return digits.replace(/^-/, "−");
}

/** Runs that were left out with their reasons: "left out: run 5 (lifted at 95)". */
export function excludedWords({excluded}: JudgeDocument): string {
  if (excluded.length === 0) return "none left out";
  return `left out: ${excluded.map(run => `run ${run.run} (${run.reason})`).join("; ")}`;
}
