import {digitsOf} from "../figures/look.ts";
import {type Table, table} from "../figures/table.ts";
import type {BesideRecord, IntervalRecord, JudgeDocument} from "../result/documents.ts";
import {signed} from "./words.ts";

const NAMES: Record<BesideRecord["name"], string> = {
  "studentised-bootstrap": "studentised bootstrap",
  fittings: "by fitting",
  runs: "by run",
  randomisation: "by lot",
  percentile: "percentile bootstrap",
  bca: "BCa bootstrap",
};

/**
 * The main interval, the others beside it with what each is for, and the estimate by ranks. One that the plan does not allow stays in the table with the
 * reason.
 *
 * @returns null where the runs are too few for an interval
 */
export function intervalsTable(result: JudgeDocument): Table | null {
  const {interval, beside} = result.effect;
  if (interval === null) return null;
  const digits = digitsOf(result.unit);
  const ranks = result.robustness?.hodges_lehmann ?? null;
  return table({
    id: "intervals",
    caption: "The interval that decides, and others beside it. None of the others moves the verdict.",
    columns: [
      {title: "interval"},
      {title: "low", unit: result.unit, align: "right"},
      {title: "high", unit: result.unit, align: "right"},
      {title: "level", unit: "%", align: "right"},
      {title: "method"},
      {title: "what it is for"},
    ],
    rows: [
      row("main", interval, "decides the verdict", digits),
      ...beside.map(({name, interval: other, words}) => row(NAMES[name], other, words, digits)),
      ...(ranks
        ? [
            row(
              "by ranks",
              ranks.interval,
              `estimate ${signed(ranks.estimate, digits)}: a few wild runs move it little`,
              digits,
              ranks.method,
            ),
          ]
        : []),
    ],
  });
}

function row(
  name: string,
  interval: IntervalRecord | null,
  words: string,
  digits: number,
  method: string | null = interval?.method ?? null,
): (string | null)[] {
  if (interval === null) return [name, null, null, null, method, words];
  const {low, high, level} = interval;
  return [name, signed(low, digits), signed(high, digits), (100 * level).toFixed(1), method, words];
}
