import type {Guess} from "../result/log.ts";
import {fromSI} from "../units/unit.ts";
import type {Gathered, GatheredRun} from "./gather.ts";

/** Hundredths that are whole but for their binary rounding stay as they are. */
const ROUNDING = 1e-6;

export interface DraftOptions {
  /** path or address of the JSON Schema of sessions, as editors read it from the session's folder */
  schema: string;
  /** name of the page with a picture of each run */
  page: string;
  /** path of a log as the session names it, for its name in the folder */
  pathOf(file: string): string;
  /** what was declared to read the logs */
  columns?: Record<string, string>;
  rateHz?: number;
  group?: string;
  maxGapS?: number;
}

/**
 * Text of a session file for the runs of a folder. What no log can tell is left empty, and `readSession` refuses it until it is
 * filled in: question, worthwhile, the names of the arms, the arm of every run. Guesses stand as comments.
 */
export function draftSession(gathered: Gathered, options: DraftOptions): string {
  const {schema, page, pathOf, columns = {}, rateHz, group, maxGapS} = options;
  const {band, runs, guesses} = gathered;
  const placed = runs.filter(({run}) => run !== null);
  const rest = runs.filter(({run}) => run === null);
  const lines = [
    `# yaml-language-server: $schema=${schema}`,
    "# Drafted by fairpull gather. Fill in what is left empty: question, worthwhile, arms, and the arm of every run.",
    comment(`${page} has a picture of each run to tell it by.`),
    ...guesses.map(guess => comment(guessWords(guess))),
    "fairpull: 1",
    "test: comparison",
    'question: "" # what you want to know, in one sentence',
    "primary: band-time",
    'worthwhile: "" # the smallest difference that would matter, such as 0.15 s; settle it before you look at any result',
    ...(band
      ? [
          `band: {from: ${speedText(band.fromMps, band.unit)}, to: ${speedText(band.toMps, band.unit)}${band.gear === null ? "" : `, gear: ${band.gear}`}}${gathered.bandGuessed ? " # a guess, see above" : ""}`,
        ]
      : []),
    'arms: {baseline: "", changed: ""} # what was fitted: without the part, with it',
    "# plan: {order: } # complete, pairs, abba, blocks-of-4 or drift-balanced; only if the order was drawn before the runs",
    "# road: {access: } # closed or public",
    "# vehicle: {mass: , massUncertainty: , dragArea: , rollingCoefficient: , rotatingMassFactor: }",
    "# air: {temperature: , pressure: , humidity: }",
    ...(Object.keys(columns).length > 0
      ? [
          `columns: {${Object.entries(columns)
            .map(([name, column]) => `${name}: ${scalar(column)}`)
            .join(", ")}}`,
        ]
      : []),
    ...(rateHz === undefined ? [] : [`rate: ${rateHz} Hz # of logs that tell no time`]),
    ...(group === undefined ? [] : [`group: ${JSON.stringify(group)}`]),
    ...(maxGapS === undefined ? [] : [`maxGap: ${maxGapS} s`]),
    "runs:",
    ...placed.flatMap(run => runLines(run, gathered, {pathOf})),
  ];
  if (rest.length > 0) {
    lines.push("# Found too, and not part of this session:");
    lines.push(...rest.map(run => comment(`- ${pathOf(run.file)}, ${spanWords(run)}: ${run.leftOut}`)));
  }
  return `${lines.join("\n")}\n`;
}

/** A guess in one line. */
export function guessWords({what, chosen, confidence}: Guess): string {
  return `guessed (${confidence}): ${what}: ${chosen}`;
}

/** "812.4 to 823.9 s, 49 to 113 km/h" */
export function spanWords({fromS, toS, startMps, endMps}: GatheredRun): string {
  const kmh = (mps: number) => Math.round(mps * 3.6);
  return `${fromS.toFixed(1)} to ${toS.toFixed(1)} s, ${kmh(startMps)} to ${kmh(endMps)} km/h`;
}

/** The span of a run as the session has it: whole hundredths outwards, so that nothing of it is cut off [s]. */
export function writtenSpan({fromS, toS}: {fromS: number; toS: number}): {fromS: number; toS: number} {
  return {fromS: Math.floor(fromS * 100 + ROUNDING) / 100, toS: Math.ceil(toS * 100 - ROUNDING) / 100};
}

/** What is known of a run beside its span. */
export function runNotes(run: GatheredRun, {pairs}: Gathered): string[] {
  const pair = pairs.find(({satellite}) => satellite === run.log);
  return [
    ...(run.headingDeg !== null && run.direction === null
      ? [`heading ${Math.round(run.headingDeg) % 360}°, another road`]
      : []),
    ...(run.ratioRpmPerMps === null
      ? []
      : [`engine ${(run.ratioRpmPerMps / 3.6).toFixed(1)} r/min per km/h`]),
    ...(run.toldBy === "speed" && run.kind === "pull"
      ? []
      : run.kind === "pull"
        ? [`full ${run.toldBy}`]
        : []),
    ...(pair
      ? [`engine log ${pair.engine.file}, ${pair.alignment.lagS.toFixed(3)} s later on its clock`]
      : []),
    ...(run.flags.length > 0 ? [`doubts: ${run.flags.join(", ")}`] : []),
  ];
}

/** Lines of a session for one run; `noted` stands in the place of its arm, which is left to fill in without it. */
export function runLines(
  run: GatheredRun,
  gathered: Gathered,
  {pathOf, noted}: {pathOf(file: string): string; noted?: readonly string[]},
): string[] {
  const {fromS, toS} = writtenSpan(run);
  return [
    `  ${comment(`run ${[run.run, spanWords(run), ...runNotes(run, gathered)].join("; ")}`)}`,
    `  - file: ${scalar(pathOf(run.file))}`,
    ...(run.needsSpan ? [`    from: ${fromS} s`, `    to: ${toS} s`] : []),
    ...(noted ?? ["    arm: # baseline or changed"]),
    ...(run.direction === null ? [] : [`    direction: ${run.direction}`]),
    ...(run.gear === null ? [] : [`    gear: ${run.gear}`]),
    ...(run.at === null ? [] : [`    at: "${run.at}"`]),
  ];
}

function speedText(mps: number, unit: string): string {
  return `${Number(fromSI(mps, unit).toPrecision(12))} ${unit}`;
}

/** A text as a YAML scalar: as it is where nothing else can be meant, else quoted (a JSON string is one). */
function scalar(text: string): string {
  return /^[A-Za-z][\w./-]*\.[A-Za-z]\w*$/.test(text) ? text : JSON.stringify(text);
}

/** A comment of one line, whatever the text holds. */
export function comment(text: string): string {
  return `# ${text.replace(/[\p{Cc}\u2028\u2029]+/gu, " ")}`;
}
