import {requireChannel} from "../log/channel.ts";
import {escapeHtml} from "../publish/html.ts";
import {document} from "../publish/page.ts";
import {PAGE_CSS} from "../publish/style.ts";
import type {Band} from "../result/session.ts";
import {guessWords, runNotes, spanWords} from "../run/draft-session.ts";
import {bandWords, type Gathered, type GatheredRun} from "../run/gather.ts";
import {fromSI} from "../units/unit.ts";

/** Size of a picture in its own units, and the room for numbers left and below. */
const WIDTH = 340;
const HEIGHT = 160;
const LEFT = 36;
const BOTTOM = 18;
const TOP = 8;
const RIGHT = 8;
/** No picture shows more points than it has places across. */
const MOST_POINTS = 2 * WIDTH;
/** Numbers along an axis, at most. */
const MOST_TICKS = 6;

const CSS = `
.page { max-width: 64rem; }
.intro { max-width: 46rem; }
.runs { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 19rem), 1fr)); gap: 1.8rem 1.6rem; list-style: none; padding: 0; margin: 1.6rem 0 0; }
.runs li { margin: 0; break-inside: avoid; }
.runs h3 { font: 600 1rem var(--sans); margin: 0 0 0.3rem; overflow-wrap: anywhere; }
.runs p { font: 0.8125rem/1.45 var(--sans); color: var(--quiet); margin: 0.25rem 0 0; overflow-wrap: anywhere; font-variant-numeric: tabular-nums; }
.runs .label { color: var(--ink); }
.runs svg { display: block; width: 100%; height: auto; font: 10px var(--sans); }
.runs .band { fill: var(--band); }
.runs .axis { stroke: var(--quiet); stroke-width: 1; fill: none; }
.runs .grid { stroke: var(--rule); stroke-width: 0.6; }
.runs text { fill: var(--quiet); }
.runs .trace { stroke: var(--accent); stroke-width: 1.6; fill: none; stroke-linejoin: round; }
.found { font-size: 0.9375rem; overflow-wrap: anywhere; }
`;

export interface RunsPageOptions {
  /** folder as the user named it */
  folder: string;
  /** name of the session file beside the page */
  session: string;
  /** path of a log as the session names it */
  pathOf(file: string): string;
}

/**
 * A page with one small picture a run, speed against time with the band marked, to give each its label by. It shows no time
 * through the band: who labels a run should not know its result.
 */
export function runsPage(gathered: Gathered, {folder, session, pathOf}: RunsPageOptions): string {
  const {band, runs, guesses, skipped} = gathered;
  const placed = runs.filter(({run}) => run !== null);
  const rest = runs.filter(({run}) => run === null);
  const item = (run: GatheredRun) => `<li>${runHtml(run, gathered, pathOf)}</li>`;
  const list = (title: string, lines: string[]) =>
    lines.length === 0
      ? ""
      : `<h2>${title}</h2><ul class="found">${lines.map(line => `<li>${escapeHtml(line)}</li>`).join("")}</ul>`;
  const main = [
    '<main id="content"><header class="intro"><p class="kicker">fairpull · runs to label</p>',
    `<h1>${placed.length} ${placed.length === 1 ? "run" : "runs"} in ${escapeHtml(folder)}</h1></header>`,
    `<p class="intro">Each picture is one entry of <code>${escapeHtml(session)}</code>, under the same number. Compare them with your notes of the day and write there, behind <code>arm:</code>, what was fitted.`,
    band ? ` The shaded speeds are the band, ${escapeHtml(bandWords(band))}.` : "",
    "</p>",
    `<h2>Runs of the session</h2><ol class="runs">${placed.map(item).join("")}</ol>`,
    rest.length === 0
      ? ""
      : `<h2>Found too, not in the session</h2><ol class="runs">${rest.map(item).join("")}</ol>`,
    list("Guesses to check", guesses.map(guessWords)),
    list(
      "Files passed over",
      skipped.map(({file, reason}) => `${file}: ${reason}`),
    ),
    "</main>",
  ].join("\n");
  const title = `Runs to label in ${folder}`;
  return document({title, css: PAGE_CSS + CSS, description: null, main, data: "", script: ""});
}

function runHtml(run: GatheredRun, gathered: Gathered, pathOf: (file: string) => string): string {
  const known = [
    spanWords(run),
    ...(run.direction === null ? [] : [run.direction]),
    ...(run.gear === null ? [] : [`gear ${run.gear}`]),
    ...(run.at === null ? [] : [run.at.replace("T", " ")]),
    ...runNotes(run, gathered),
  ];
  const label =
    run.run === null
      ? `<p class="label">${escapeHtml(run.leftOut!)}</p>`
      : '<p class="label">☐ baseline&ensp;☐ changed</p>';
  return (
    `<h3>${run.run === null ? (run.kind === "pull" ? "Pull" : "Coastdown") : `Run ${run.run}`} · ${escapeHtml(pathOf(run.file))}</h3>` +
    picture(run, gathered.band) +
    `<p>${escapeHtml(known.join(" · "))}</p>${label}`
  );
}

/** Speed against time over the span of a run. */
function picture(run: GatheredRun, band: Band | null): string {
  const unit = band?.unit ?? "km/h";
  const {timeS, speed} = trace(run, unit);
  const [fromS, toS] = [run.fromS, Math.max(run.toS, run.fromS + 1e-3)];
  const inBand = band ? [fromSI(band.fromMps, unit), fromSI(band.toMps, unit)] : [];
  const ends = [...speed, ...inBand];
  const lowest = ends.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
  const highest = ends.reduce((most, value) => Math.max(most, value), lowest + 1);
  const room = 0.06 * (highest - lowest);
  const [low, high] = [Math.max(0, lowest - room), highest + room];
  const x = (time: number) => (LEFT + ((time - fromS) / (toS - fromS)) * (WIDTH - LEFT - RIGHT)).toFixed(1);
  const y = (value: number) => (TOP + ((high - value) / (high - low)) * (HEIGHT - TOP - BOTTOM)).toFixed(1);
  const floor = HEIGHT - BOTTOM;
  const points = speed.map((value, k) => `${k === 0 ? "M" : "L"}${x(timeS[k])} ${y(value)}`).join("");
  const shade = band
    ? `<rect class="band" x="${LEFT}" width="${WIDTH - LEFT - RIGHT}" y="${y(inBand[1])}" height="${(Number(y(inBand[0])) - Number(y(inBand[1]))).toFixed(1)}"/>`
    : "";
  const speeds = ticks(low, high).map(
    value =>
      `<line class="grid" x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y(value)}" y2="${y(value)}"/><text x="${LEFT - 4}" y="${y(value)}" dy="3.5" text-anchor="end">${value}</text>`,
  );
  const times = ticks(fromS, toS).map(
    (value, k) =>
      `<line class="axis" x1="${x(value)}" x2="${x(value)}" y1="${floor}" y2="${floor + 3}"/><text x="${x(value)}" y="${floor + 13}" text-anchor="middle">${value}${k === 0 ? " s" : ""}</text>`,
  );
  const words = `Speed in ${unit} against time in seconds, ${spanWords(run)}`;
  return (
    `<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${escapeHtml(words)}">${shade}${speeds.join("")}` +
    `<path class="axis" d="M${LEFT} ${TOP}V${floor}H${WIDTH - RIGHT}"/>${times.join("")}` +
    `<text x="${LEFT + 4}" y="${TOP + 8}">${escapeHtml(unit)}</text>` +
    `<path class="trace" d="${points}"/></svg>`
  );
}

/** Samples of the span, thinned where there are more than a picture shows. */
function trace({log, fromS, toS}: GatheredRun, unit: string): {timeS: number[]; speed: number[]} {
  const {values} = requireChannel(log, "speed");
  const rows: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (log.timeS[i] >= fromS && log.timeS[i] <= toS && Number.isFinite(values[i])) rows.push(i);
  }
  const every = Math.ceil(rows.length / MOST_POINTS);
  const shown = rows.filter((_, k) => k % every === 0 || k === rows.length - 1);
  return {timeS: shown.map(row => log.timeS[row]), speed: shown.map(row => fromSI(values[row], unit))};
}

/** Round numbers between two ends, a few of them. */
function ticks(low: number, high: number): number[] {
  const rough = (high - low) / MOST_TICKS;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map(factor => factor * power).find(candidate => candidate >= rough)!;
  const first = Math.ceil(low / step);
  const count = Math.floor(high / step) - first + 1;
  return Array.from({length: count}, (_, k) => Number(((first + k) * step).toPrecision(12)));
}
