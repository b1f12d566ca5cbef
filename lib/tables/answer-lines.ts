import type {ChannelDocument} from "../result/channel-document.ts";
import type {CoastdownDocument} from "../result/coastdown-document.ts";
import type {RepeatabilityDocument} from "../result/repeatability-document.ts";

/** The lines of an answer without a verdict, label and words, in the order they are read. */
export function answerLines(
  result: CoastdownDocument | RepeatabilityDocument | ChannelDocument,
): [label: string, words: string][] {
  const out = result.runs.filter(run => !run.used);
  const reasons = out.map(run => {
    const problem =
      "problem" in run ? run.problem : result.excluded.find(({run: number}) => number === run.run)?.reason;
    return `run ${run.run} (${problem ?? "no value"})`;
  });
  return [
    ["Question", result.question],
    ["Answer", result.words],
    ...(result.test === "channels" && result.power
      ? [["Power", result.power.words] as [string, string]]
      : []),
    [
      "Runs",
      `${result.runs.length - out.length} used; ${out.length === 0 ? "none left out" : `left out: ${reasons.join("; ")}`}`,
    ],
    ["Not said", result.silent],
    ["Next", result.next],
  ];
}
