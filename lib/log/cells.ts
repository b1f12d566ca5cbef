import {findUnit} from "../units/unit.ts";

/** What a cell holds, seen alone. */
export type CellKind = "empty" | "number" | "united" | "clock" | "date" | "date-time" | "flag" | "text";

/** What loggers write where they have no value. */
const MISSING =
  /^(?:|-{1,4}|–|—|nan|[-+]?1\.#(?:qnan|ind|inf)\d*|n\/?a|null|none|nil|[-+]?inf(?:inity)?|\?+|\*+|#n\/a|invalid|no data)$/i;
const NUMBER = {
  ".": /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/,
  ",": /^[+-]?(?:\d+,?\d*|,\d+)(?:[eE][+-]?\d+)?$/,
};
/** Whole numbers in groups of three with a sign between them, and then a decimal sign that tells the two apart. */
const GROUPED = {
  ".": /^[+-]?\d{1,3}(?:,\d{3})+\.\d+$/,
  ",": /^[+-]?\d{1,3}(?:\.\d{3})+,\d+$/,
};
const GROUPS = {".": /^[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?$/, ",": /^[+-]?\d{1,3}(?:\.\d{3})+(?:,\d*)?$/};
const UNITED = /^([+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.,;+-].*)$/;
const FLAGS: Record<string, number> = {true: 1, false: 0, on: 1, off: 0, yes: 1, no: 0};

export type DecimalSign = "." | ",";

/** True for a number such as 1,234.5 (decimal point) or 1.234,5 (decimal comma), which can be read in one way only. */
export function isGrouped(cell: string, decimal: DecimalSign): boolean {
  return GROUPED[decimal].test(cell);
}

/**
 * Value of a number with its whole part in groups of three, or null. `known`: its column has numbers that can be read so only, and
 * then 1,234 is one, too.
 */
export function groupedNumber(cell: string, decimal: DecimalSign, known: boolean): number | null {
  if (!(known ? GROUPS : GROUPED)[decimal].test(cell)) return null;
  return Number(cell.replaceAll(decimal === "." ? "," : ".", "").replace(",", "."));
}

/** True for a cell that stands for "no value". */
export function isMissing(cell: string): boolean {
  return MISSING.test(cell);
}

/** Kind of one cell, trimmed and without quotes. */
export function cellKind(cell: string, decimal: DecimalSign): CellKind {
  if (NUMBER[decimal].test(cell)) return "number"; // first, since most cells are
  if (isMissing(cell)) return "empty";
  if (isGrouped(cell, decimal)) return "number";
  if (clockSeconds(cell) !== null) return "clock";
  if (/^\d/.test(cell)) {
    if (DATE_TIME.test(cell)) return "date-time";
    if (DATE.test(cell)) return "date";
    if (unitedNumber(cell) !== null) return "united";
  } else if (unitedNumber(cell) !== null) return "united";
  return cell.toLowerCase() in FLAGS ? "flag" : "text";
}

/** 1 or 0 for "true", "off", …, NaN for anything else. */
export function flagValue(cell: string): number {
  const key = cell.toLowerCase();
  return Object.hasOwn(FLAGS, key) ? FLAGS[key] : Number.NaN;
}

/** A number with its unit in one cell ("50.3 km/h"), or null. The decimal sign may be either. */
export function unitedNumber(cell: string): {value: number; unit: string} | null {
  const match = UNITED.exec(cell);
  if (!match || /^[+-]?0\d/.test(match[1]) || findUnit(match[2]) === null) return null; // "010C" is no 10 °C
  return {value: Number(match[1].replace(",", ".")), unit: match[2]};
}

const CLOCK = /^(\d{1,3}):(\d{2})(?::(\d{2}))?(?:[.,:](\d{1,9}))?\s*([AaPp][Mm])?$/;

/** Seconds of "13:05:07.25", "1:05:07 PM" or "05:07.25" (minutes and seconds), or null. */
export function clockSeconds(text: string): number | null {
  const match = CLOCK.exec(text);
  if (!match) return null;
  const [, first, second, third, fraction, half] = match;
  // Without a third group "12:34" is hours and minutes, "12:34.5" minutes and seconds.
  const minutesFirst = third === undefined && fraction !== undefined;
  let hours = minutesFirst ? 0 : Number(first);
  const minutes = minutesFirst ? Number(first) : Number(second);
  const seconds = minutesFirst ? Number(second) : Number(third ?? 0);
  if ((minutes > 59 && !minutesFirst) || seconds > 60) return null;
  if (half !== undefined) {
    if (hours < 1 || hours > 12) return null;
    hours = (hours % 12) + (half.toLowerCase() === "pm" ? 12 : 0);
  }
  return hours * 3600 + minutes * 60 + Number(`${seconds}.${fraction ?? 0}`);
}

const DATE_PART = String.raw`\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})`;
const ZONE_PART = String.raw`\s*(Z|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2})?`;
const DATE = new RegExp(`^(?:${DATE_PART})$`);
const DATE_TIME = new RegExp(
  `^(${DATE_PART})(?:T|\\s+|\\s*,\\s*)(\\d{1,2}:\\d{2}(?::\\d{2})?(?:[.,:]\\d{1,9})?\\s*(?:[AaPp][Mm])?)${ZONE_PART}$`,
);

/** Order of the parts of a date that does not begin with the year. */
export type DateOrder = "day-first" | "month-first";

/** Which order dates of a column have, as far as they tell; null where every one can be read both ways. */
export function dateOrder(cells: Iterable<string>): DateOrder | null {
  for (const cell of cells) {
    const match = /^(\d{1,2})[-/.](\d{1,2})[-/.]\d{2,4}/.exec(cell);
    if (!match) continue;
    if (Number(match[1]) > 12) return "day-first";
    if (Number(match[2]) > 12) return "month-first";
  }
  return null;
}

/** Seconds since 1970-01-01 of a date at midnight, or null; a day that is not in the calendar is null. */
export function dateSeconds(text: string, order: DateOrder): number | null {
  if (!DATE.test(text)) return null;
  const parts = text.split(/[-/.]/);
  const yearFirst = parts[0].length === 4;
  const [a, b, c] = parts.map(Number);
  const [year, month, day] = yearFirst ? [a, b, c] : order === "day-first" ? [c, b, a] : [c, a, b];
  const fullYear = year < 100 && !yearFirst ? year + (year < 80 ? 2000 : 1900) : year; // receivers count from 1980
  const milliseconds = Date.UTC(fullYear, month - 1, day);
  const date = new Date(milliseconds);
  if (date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
  return milliseconds / 1000;
}

/**
 * Seconds since `zeroS` (itself since 1970-01-01 UTC) of a date with clock time, or null. Without a zone the local time is
 * taken as UTC. A zero near the date keeps the digits of the fraction, of which 1970 leaves six.
 */
export function dateTimeSeconds(text: string, order: DateOrder, zeroS: number): number | null {
  const match = DATE_TIME.exec(text);
  if (!match) return null;
  const date = dateSeconds(match[1], order);
  const clock = clockSeconds(match[2].trim());
  if (date === null || clock === null || clock > 86_400) return null;
  return date - zeroS + clock - zoneSeconds(match[3]);
}

function zoneSeconds(zone: string | undefined): number {
  const match = zone === undefined ? null : /^([+-])(\d{2}):?(\d{2})?$/.exec(zone);
  if (!match) return 0;
  return (match[1] === "-" ? -1 : 1) * (Number(match[2]) * 3600 + Number(match[3] ?? 0) * 60);
}
