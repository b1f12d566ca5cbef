import type {Command} from "commander";
import {digitsOf} from "../figures/look.ts";
import {judge} from "../judge/judge.ts";
import type {JudgeDocument, JudgeFailure} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import {testOfSession} from "../run/coastdown-session.ts";
import {loadDay} from "../run/day.ts";
import {readSession} from "../run/session.ts";
import {cardLines, provenanceLines} from "../tables/verdict-card.ts";
import type {CommandIO} from "./io.ts";
import {tellChannels} from "./judge-channels.ts";
import {tellCoastdown} from "./judge-coastdown.ts";
import {openSeal} from "./judge-open.ts";
import {tellRepeatability} from "./judge-repeatability.ts";
import {wholeNumberOption} from "./options.ts";
import {tellAnswer, textTable} from "./output.ts";

export interface JudgeOptions {
  json?: boolean;
  /** overrides the session's seed */
  seed?: number;
  /** key file of sealed labels */
  open?: string;
}

/** `fairpull judge SESSION`: the answer to the session's question. */
export function registerJudge(program: Command, io: CommandIO): void {
  program
    .command("judge")
    .description("answer the question of a session: verdict, interval, checks")
    .argument("<session>", "the session file (YAML)")
    .option("--seed <number>", "seed of everything random, instead of the session's own", text =>
      wholeNumberOption("--seed", text),
    )
    .option("--open <keyfile>", "open sealed labels, and note in the session that it was done")
    .option("--json", "print one JSON document")
    .action((file: string, options: JudgeOptions) => {
      const test = testOfSession(file, {cwd: io.cwd});
      if (test === "channels") return tellChannels(file, options, io);
      if (test === "coastdown") return tellCoastdown(file, options, io);
      if (test === "repeatability") return tellRepeatability(file, options, io);
      tellAnswer(io, judgeSession(file, options, io.cwd), options, judgeText);
    });
}

/** The document of `judge`; a mistake of the user is in its `error`, with how far it came and the exit code beside. */
export function judgeSession(
  file: string,
  options: JudgeOptions,
  cwd: string,
): {document: JudgeDocument | JudgeFailure; exitCode: 0 | 1 | 2} {
  const reached: Omit<JudgeFailure, "error"> = {format: "fairpull.judge/1", question: null, runs: []};
  try {
    let written = readSession(file, {cwd});
    if (options.open !== undefined && openSeal(written, options.open, cwd))
      written = readSession(file, {cwd});
    const session = {...written, seed: options.seed ?? written.seed};
    reached.question = session.question;
    reached.runs = session.runs.map(({run, file: log, arm}) => ({run, file: log, arm, problem: null}));
    const day = loadDay(session);
    reached.runs = day.runs.map(({run, problem}) => ({run: run.run, file: run.file, arm: run.arm, problem}));
    return {document: judge(session, day), exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...reached, error: error.details}, exitCode: error.exitCode};
  }
}

function judgeText(document: JudgeDocument): string {
  const lines = (rows: [string, string][]) => textTable(["", ""], rows).split("\n").slice(1).join("\n");
  const runs = textTable(
    ["run", "arm", `value ${document.unit}`, "used", "doubts"],
    document.runs.map(run => [
      String(run.run),
      run.arm,
      run.value === null ? "–" : run.value.toFixed(digitsOf(document.unit)),
      run.used ? "yes" : "no",
      run.flags.join(", "),
    ]),
    [0, 2],
  );
  const checks = textTable(
    ["check", "outcome", "found"],
    document.checks.map(({name, outcome, words}) => [name, outcome, words]),
  );
  return [lines(cardLines(document)), runs, checks, lines(provenanceLines(document))].join("\n");
}
