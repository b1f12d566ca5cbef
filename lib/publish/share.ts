import {textWidth} from "../draw/measure.ts";
import {PICTURE_FONT, pngOf} from "../draw/png.ts";
import type {ResultDocument} from "../result/result-document.ts";
import type {TestReport} from "../result/test-report.ts";
import {headline, usedWords} from "./answer-card.ts";
import {effectShown} from "./card.ts";
import {escapeHtml, numberText} from "./html.ts";

const WIDTH_PX = 800;
const EDGE_PX = 40;
const INNER_PX = WIDTH_PX - 2 * EDGE_PX;
/** Pixels of the PNG for one of the drawing: sharp on a telephone. */
const SCALE = 2;

/** Colours of the light page; the picture has a ground of its own, since a forum may be dark. */
const COLOUR = {
  paper: "#fcfbf8",
  ink: "#22252a",
  quiet: "#5b616b",
  rule: "#d9d6ce",
  accent: "#9c4413",
  band: "#d8e0cf",
};

/**
 * The verdict as a picture to post: question, state, estimate and interval drawn to scale, runs, whether planned, what it does
 * not show. The text alternative to go with it is in the SVG's `<title>`.
 */
export function verdictSvg(result: ResultDocument, report: TestReport | null): string {
  const parts: string[] = [];
  let y = EDGE_PX;
  const write = (text: string, sizePx: number, {bold = false, colour = COLOUR.ink, gapPx = 10} = {}) => {
    for (const line of wrapped(text, sizePx * (bold ? BOLD_IS_WIDER : 1), INNER_PX)) {
      y += sizePx * LINE;
      parts.push(
        `<text x="${EDGE_PX}" y="${(y - sizePx * 0.3).toFixed(1)}" font-size="${sizePx}" fill="${colour}"${bold ? ' font-weight="700"' : ""}>${escapeHtml(line)}</text>`,
      );
    }
    y += gapPx;
  };
  write(result.question, 20, {colour: COLOUR.quiet});
  const {state, numbers} = headline(result);
  write(state, 36, {bold: true});
  if (numbers !== null) write(numbers, 18);
  const shown = result.test === "comparison" ? effectShown(result) : null;
  if (shown) {
    parts.push(...picture(shown, y));
    y += PICTURE_PX;
  }
  write(usedWords(result), 16);
  if (report) write(report.planned.words, 16);
  write(result.test === "comparison" ? result.verdict.silent : result.silent, 16, {colour: COLOUR.quiet});
  const height = Math.ceil(y + EDGE_PX - 10);
  const title = `${result.question} ${state}. ${numbers ?? ""}`;
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH_PX}" height="${height}" viewBox="0 0 ${WIDTH_PX} ${height}" ` +
    `font-family="'${PICTURE_FONT}', Verdana, sans-serif"><title>${escapeHtml(title)}</title>` +
    `<rect width="${WIDTH_PX}" height="${height}" fill="${COLOUR.paper}"/>` +
    `<rect x="${EDGE_PX}" y="${EDGE_PX - 12}" width="${INNER_PX}" height="4" fill="${COLOUR.ink}"/>${parts.join("")}</svg>\n`
  );
}

/** The same as a PNG, 1600 pixels wide. */
export function verdictPng(result: ResultDocument, report: TestReport | null): Promise<Uint8Array> {
  return pngOf(verdictSvg(result, report), SCALE);
}

const LINE = 1.4;
/** DejaVu Sans Bold against DejaVu Sans, over English text. */
const BOLD_IS_WIDER = 1.13;
const PICTURE_PX = 110;

function picture(shown: NonNullable<ReturnType<typeof effectShown>>, top: number): string[] {
  const {estimate, low, high, worthwhile, unit, digits} = shown;
  const reach = 1.12 * Math.max(Math.abs(low), Math.abs(high), worthwhile ?? 0) || 1;
  const x = (value: number) => Number((WIDTH_PX / 2 + (INNER_PX / 2) * (value / reach)).toFixed(1));
  const [bar, axis] = [top + 38, top + 64];
  const line = (x1: number, x2: number, y1: number, y2: number, colour: string, widthPx: number) =>
    `<line x1="${x1}" x2="${x2}" y1="${y1}" y2="${y2}" stroke="${colour}" stroke-width="${widthPx}"/>`;
  const label = (value: number, text: string) =>
    `<text x="${x(value)}" y="${axis + 22}" font-size="14" text-anchor="middle" fill="${COLOUR.quiet}">${text}</text>`;
  const band =
    worthwhile === null
      ? []
      : [
          `<rect x="${x(-worthwhile)}" y="${top + 12}" width="${(x(worthwhile) - x(-worthwhile)).toFixed(1)}" height="52" fill="${COLOUR.band}"/>`,
          ...(worthwhile / reach > 0.28
            ? [
                label(-worthwhile, numberText(-worthwhile, digits)),
                label(worthwhile, numberText(worthwhile, digits, true)),
              ]
            : []),
        ];
  return [
    ...band,
    line(EDGE_PX, WIDTH_PX - EDGE_PX, axis, axis, COLOUR.quiet, 1),
    line(x(0), x(0), top + 12, axis + 5, COLOUR.ink, 1.5),
    label(0, `0 ${escapeHtml(unit)}`),
    line(x(low), x(high), bar, bar, COLOUR.accent, 4),
    ...[low, high].map(end => line(x(end), x(end), bar - 10, bar + 10, COLOUR.accent, 4)),
    `<circle cx="${x(estimate)}" cy="${bar}" r="8" fill="${COLOUR.accent}" stroke="${COLOUR.paper}" stroke-width="2"/>`,
  ];
}

/** Lines no wider than `widthPx`; a word that is wider stands alone. */
function wrapped(text: string, sizePx: number, widthPx: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/)) {
    const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
    if (lines.length && textWidth(longer, sizePx) <= widthPx) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}
