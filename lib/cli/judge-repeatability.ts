import {judgeRepeatability} from "../judge/repeatability.ts";
import type {ErrorDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import type {RepeatabilityDocument} from "../result/repeatability-document.ts";
import {readRepeatabilitySession} from "../run/repeatability-session.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer, textTable} from "./output.ts";

/** The document of `judge` for a session of `test: repeatability`. */
export function judgeRepeatabilitySession(
  file: string,
  {seed}: {seed?: number},
  cwd: string,
): {document: RepeatabilityDocument | ErrorDocument; exitCode: 0 | 1 | 2} {
  try {
    const session = readRepeatabilitySession(file, {cwd});
    return {document: judgeRepeatability({...session, seed: seed ?? session.seed}), exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {format: "fairpull.judge/1", error: error.details}, exitCode: error.exitCode};
  }
}

/** Prints what identical runs answer, or what is wrong. */
export function tellRepeatability(
  file: string,
  options: {json?: boolean; seed?: number},
  io: CommandIO,
): void {
  tellAnswer(io, judgeRepeatabilitySession(file, options, io.cwd), options, repeatabilityText);
}

function repeatabilityText(document: RepeatabilityDocument): string {
  const {question, words, runs, checks, reach, unit} = document;
  const driven = textTable(
    ["run", `value ${unit}`, "used", "doubts"],
    runs.map(run => [
      String(run.run),
      run.value === null ? "–" : run.value.toFixed(3),
      run.used ? "yes" : "no",
      run.flags.join(", "),
    ]),
    [0, 1],
  );
  const shown = textTable(
    ["plan", "runs", `shows at least ${unit}`],
    reach.map(row => [row.order, String(row.runs), row.smallest.toPrecision(3)]),
    [1, 2],
  );
  const checked = textTable(
    ["check", "outcome", "found"],
    checks.map(({name, outcome, words: found}) => [name, outcome, found]),
  );
  return `${question}\n${words}\n\n${driven}\n${shown}\n${checked}`;
}
