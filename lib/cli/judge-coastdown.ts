import {judgeCoastdown} from "../judge/coastdown.ts";
import type {CoastdownDocument, LoadTerm} from "../result/coastdown-document.ts";
import type {ErrorDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import {readCoastdownSession} from "../run/coastdown-session.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer, textTable} from "./output.ts";

/** The document of `judge` for a session of `test: coastdown`. */
export function judgeCoastdownSession(
  file: string,
  {seed}: {seed?: number},
  cwd: string,
): {document: CoastdownDocument | ErrorDocument; exitCode: 0 | 1 | 2} {
  try {
    const session = readCoastdownSession(file, {cwd});
    return {document: judgeCoastdown({...session, seed: seed ?? session.seed}), exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {format: "fairpull.judge/1", error: error.details}, exitCode: error.exitCode};
  }
}

/** Prints what a coastdown answers, or what is wrong. */
export function tellCoastdown(file: string, options: {json?: boolean; seed?: number}, io: CommandIO): void {
  tellAnswer(io, judgeCoastdownSession(file, options, io.cwd), options, coastdownText);
}

function coastdownText(document: CoastdownDocument): string {
  const row = (name: string, {estimate, interval, unit}: LoadTerm, digits: number): string[] => [
    name,
    estimate.toFixed(digits),
    interval ? `${interval.low.toFixed(digits)} to ${interval.high.toFixed(digits)}` : "too few runs",
    unit,
  ];
  const terms = textTable(
    ["term", "value", "interval", "unit"],
    [
      ...document.terms.map(term => row(term.name, term, term.name === "F0" ? 1 : 4)),
      ...document.forces.map(force => row(`force at ${(3.6 * force.speed_mps).toFixed(0)} km/h`, force, 1)),
    ],
    [1],
  );
  const checks = textTable(
    ["check", "outcome", "found"],
    document.checks.map(({name, outcome, words}) => [name, outcome, words]),
  );
  const {reference} = document;
  const words = [
    `Question: ${document.question}`,
    `CdA ${document.drag_area_m2.toFixed(3)} m², Crr ${document.rolling_coefficient.toFixed(5)} (air of ${document.air.density_kg_m3.toFixed(3)} kg/m³)`,
    `At ${reference.words}: F0 ${reference.f0_n.toFixed(1)} N, F1 ${reference.f1_n_per_mps.toFixed(2)} N/(m/s), F2 ${reference.f2_n_per_mps2.toFixed(4)} N/(m/s)²`,
    ...document.warnings.map(warning => `Warning: ${warning}`),
  ];
  return `${words.join("\n")}\n\n${terms}\n${checks}`;
}
