import {escapeHtml, numberText} from "./html.ts";

/** What the picture of an effect shows; every number in `unit`. */
export interface EffectShown {
  estimate: number;
  low: number;
  high: number;
  /** smallest difference worth having, or null where it is not known in this unit */
  worthwhile: number | null;
  unit: string;
  digits: number;
}

const HEIGHT_PX = 92;
const BAR_Y = 34;
const AXIS_Y = 60;
const LABEL_Y = 82;
/** Share of the half width kept free beyond the largest number. */
const SPARE = 0.12;
/** Labels nearer than this share of the width would touch on a telephone. */
const LABEL_GAP = 0.14;

/**
 * Estimate and interval drawn to scale on an axis with zero in the middle, over the band of differences too small to be
 * worthwhile. Across in per cent, upright in pixels: it fits any width with letters of one size.
 */
export function intervalPicture(shown: EffectShown): string {
  const {estimate, low, high, worthwhile, unit, digits} = shown;
  const reach = Math.max(Math.abs(low), Math.abs(high), worthwhile ?? 0) * (1 + SPARE) || 1;
  const x = (value: number) => `${(50 + (50 * value) / reach).toFixed(2)}%`;
  const width = (from: number, to: number) => `${((50 * (to - from)) / reach).toFixed(2)}%`;
  const parts: string[] = [];
  const label = (value: number, text: string) =>
    parts.push(`<text x="${x(value)}" y="${LABEL_Y}" text-anchor="middle">${text}</text>`);
  if (worthwhile !== null) {
    parts.push(
      `<rect class="worthwhile" x="${x(-worthwhile)}" y="8" width="${width(-worthwhile, worthwhile)}" height="${AXIS_Y - 8}"/>`,
    );
    if (worthwhile / (2 * reach) > LABEL_GAP) {
      label(-worthwhile, numberText(-worthwhile, digits));
      label(worthwhile, numberText(worthwhile, digits, true));
    }
  }
  parts.push(
    `<line class="axis" x1="0" x2="100%" y1="${AXIS_Y}" y2="${AXIS_Y}"/>`,
    `<line class="zero" x1="50%" x2="50%" y1="8" y2="${AXIS_Y + 5}"/>`,
  );
  label(0, `0 ${escapeHtml(unit)}`);
  parts.push(
    `<line class="interval" x1="${x(low)}" x2="${x(high)}" y1="${BAR_Y}" y2="${BAR_Y}"/>`,
    ...[low, high].map(
      end => `<line class="interval" x1="${x(end)}" x2="${x(end)}" y1="${BAR_Y - 8}" y2="${BAR_Y + 8}"/>`,
    ),
    `<circle class="estimate" cx="${x(estimate)}" cy="${BAR_Y}" r="6"/>`,
  );
  const words =
    `Estimate ${numberText(estimate, digits, true)} ${unit}, interval ${numberText(low, digits, true)} to ` +
    `${numberText(high, digits, true)} ${unit}` +
    (worthwhile === null
      ? ""
      : `; differences within ±${worthwhile.toFixed(digits)} ${unit} are not worthwhile`);
  return (
    `<svg class="interval-picture" role="img" aria-label="${escapeHtml(words)}" width="100%" height="${HEIGHT_PX}">` +
    `${parts.join("")}</svg>`
  );
}
