import {resolve} from "node:path";
import type {Command} from "commander";
import {type OpenLog, withOpenLog} from "../log/open-log.ts";
import {medianOfPieces} from "../log/piece-median.ts";
import {forEachPiece, stepsOf} from "../log/values.ts";
import type {InspectChannel, InspectDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import type {Channel, Unread} from "../result/log.ts";
import {gapOfMedianStepS} from "../series/steps.ts";
import {findUnit, fromSI} from "../units/unit.ts";
import type {CommandIO} from "./io.ts";
import {addLogOptions, type LogOptions, maxGapOption, readOptions} from "./options.ts";
import {tellAnswer, textTable} from "./output.ts";

/** `fairpull inspect FILE`: what is in a log. */
export function registerInspect(program: Command, io: CommandIO): void {
  addLogOptions(
    program
      .command("inspect")
      .description("say what is in a log: channels, units, rows, rate, gaps, what was not read"),
  )
    .argument("<file>", "the log")
    .action((file: string, options: LogOptions) => {
      tellAnswer(io, inspectLog(file, options, io.cwd), options, inspectText);
    });
}

/** The document of `inspect`; a mistake of the user is in its `error`, with the exit code beside. */
export function inspectLog(
  file: string,
  given: LogOptions,
  cwd: string,
): {document: InspectDocument; exitCode: 0 | 1 | 2} {
  const document: InspectDocument = {
    format: "fairpull.inspect/1",
    file,
    log_format: null,
    rows: 0,
    duration_s: null,
    rate_hz: null,
    channels: [],
    gaps: [],
    guesses: [],
    unread: {rows: [], columns: []},
  };
  try {
    const maxGapS = maxGapOption(given);
    const options = {...readOptions(given), name: file, only: {quantities: []}};
    const found = withOpenLog(resolve(cwd, file), options, open => contents(open, maxGapS));
    return {document: {...document, ...found}, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

function contents({log, samples, times}: OpenLog, maxGapS: number | undefined): Partial<InspectDocument> {
  const stepS = medianOfPieces(stepsOf(times)) ?? Number.NaN; // a log has two samples at least
  const gapS = maxGapS ?? gapOfMedianStepS(stepS);
  const gaps: InspectDocument["gaps"] = [];
  let [firstS, lastS] = [Number.NaN, Number.NaN];
  forEachPiece(times, piece => {
    if (Number.isNaN(firstS)) firstS = piece[0];
    for (const timeS of piece) {
      if (timeS - lastS > gapS) gaps.push({at_s: lastS, length_s: timeS - lastS});
      lastS = timeS;
    }
  });
  return {
    log_format: log.format,
    rows: samples,
    duration_s: lastS - firstS,
    rate_hz: 1 / stepS,
    channels: log.channels.map(toRecord),
    gaps,
    guesses: log.guesses,
    unread: log.unread,
  };
}

/** A channel in the unit it was written in. */
function toRecord({name, column, unit, valueUnit, kind, values, valid, range}: Channel): InspectChannel {
  const written = unit === null ? null : findUnit(unit);
  const shown = name === "time" ? null : written; // time is shown in seconds, whatever it was written in
  let {min, max} = range ?? {min: Number.POSITIVE_INFINITY, max: Number.NEGATIVE_INFINITY};
  for (let i = 0; i < values.length; i++) {
    if (values[i] < min) min = values[i];
    if (values[i] > max) max = values[i];
  }
  const show = (value: number) =>
    valid === 0 || kind === "text" ? null : shown ? fromSI(value, shown) : value;
  return {
    name,
    column,
    unit: shown ? unit : (valueUnit ?? unit),
    kind,
    min: show(min),
    max: show(max),
    valid,
  };
}

/** Gaps and guesses listed for people; the rest is counted. */
const LISTED = 10;

function inspectText({
  file,
  log_format,
  rows,
  duration_s,
  rate_hz,
  channels,
  gaps,
  guesses,
  unread,
}: InspectDocument): string {
  const number = (value: number | null) => (value === null ? "" : String(Number(value.toPrecision(6))));
  const table = textTable(
    ["name", "column", "unit", "min", "max", "values"],
    channels.map(channel => [
      channel.name,
      channel.column,
      channel.unit ?? (channel.kind === "number" ? "" : channel.kind),
      number(channel.min),
      number(channel.max),
      String(channel.valid),
    ]),
    [3, 4, 5],
  );
  const some = <T>(title: string, items: T[], line: (item: T) => string): string => {
    if (items.length === 0) return "";
    const more = items.length > LISTED ? `  … ${items.length - LISTED} more\n` : "";
    return `\n${title}\n${items
      .slice(0, LISTED)
      .map(item => `  ${line(item)}\n`)
      .join("")}${more}`;
  };
  return [
    `${file}: ${log_format}, ${rows} rows over ${number(duration_s)} s, about ${number(rate_hz)} Hz\n\n`,
    table,
    some("gaps", gaps, gap => `${number(gap.length_s)} s at ${number(gap.at_s)} s`),
    some("chosen by the reader", guesses, guess => `${guess.what}: ${guess.chosen} (${guess.confidence})`),
    unreadText(unread),
  ].join("");
}

/** What was not read, for people; empty where all was. */
export function unreadText({rows, columns}: Unread): string {
  if (rows.length + columns.length === 0) return "";
  return [
    "\nnot read\n",
    ...rows.map(({reason, count, first_line}) => `  ${count} × ${reason} (first in line ${first_line})\n`),
    ...columns.map(({name, reason}) => `  column "${name}": ${reason}\n`),
  ].join("");
}
