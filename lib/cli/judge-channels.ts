import {judgeChannels} from "../judge/channels.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import type {ErrorDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import {readChannelSession} from "../run/channel-session.ts";
import {channelName, printDifference, printP, threeDigits} from "../units/shown.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer, textTable} from "./output.ts";

/** The document of `judge` for a session of `test: channels`. */
export function judgeChannelSession(
  file: string,
  {seed}: {seed?: number},
  cwd: string,
): {document: ChannelDocument | ErrorDocument; exitCode: 0 | 1 | 2} {
  try {
    const session = readChannelSession(file, {cwd});
    return {document: judgeChannels({...session, seed: seed ?? session.seed}), exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {format: "fairpull.judge/1", error: error.details}, exitCode: error.exitCode};
  }
}

/** Prints what the engine's channels answer, or what is wrong. */
export function tellChannels(file: string, options: {json?: boolean; seed?: number}, io: CommandIO): void {
  tellAnswer(io, judgeChannelSession(file, options, io.cwd), options, channelText);
}

function channelText({
  question,
  words,
  silent,
  next,
  survey,
  conditions,
  carry_over,
  excluded,
}: ChannelDocument): string {
  const channels = textTable(
    ["channel", "difference", "size", "adjusted p", ""],
    survey.channels.map(({channel, unit, estimate, size, adjusted_p, differs}) => [
      channelName(channel),
      printDifference(estimate, unit, channel),
      threeDigits(size).replace("-", "−"),
      printP(adjusted_p),
      differs ? "differs" : "",
    ]),
    [1, 2, 3],
  );
  const alike = textTable(
    ["condition", "found"],
    conditions.map(({name, words: found}) => [channelName(name), found]),
  );
  const left = excluded.map(({run, reason}) => `run ${run} is left out: ${reason}\n`).join("");
  return `${question}\n${words}\n${silent}\n${next}\n\n${channels}\n${alike}\n${carry_over.words}\n${left}`;
}
