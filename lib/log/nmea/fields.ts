/**
 * Fields of NMEA sentences. Each function returns NaN for an empty field and null for one that cannot be: both are "no
 * value", but the second is a fault to be counted.
 */
export type FieldValue = number | null;

const NUMBER = /^-?(?:\d+\.?\d*|\.\d+)$/;
/** Two-digit years from here on are of the last century: satellite time began in 1980. */
const FIRST_YEAR = 80;

/** A decimal number within limits, both included. */
export function numberField(text: string | undefined, low: number, high: number): FieldValue {
  if (!text) return Number.NaN;
  if (!NUMBER.test(text)) return null;
  const value = Number(text);
  return value >= low && value <= high ? value : null;
}

/** "hhmmss.ss" as seconds since midnight; a leap second is second 60. */
export function clockField(text: string | undefined): FieldValue {
  if (!text) return Number.NaN;
  const match = /^(\d{2})(\d{2})(\d{2}(?:\.\d*)?)$/.exec(text);
  if (!match) return null;
  const [hours, minutes, seconds] = match.slice(1).map(Number);
  return hours < 24 && minutes < 60 && seconds < 61 ? hours * 3600 + minutes * 60 + seconds : null;
}

/** "ddmmyy" as days since 1970-01-01. */
export function dateField(text: string | undefined): FieldValue {
  if (!text) return Number.NaN;
  const match = /^(\d{2})(\d{2})(\d{2})$/.exec(text);
  if (!match) return null;
  const [day, month, year] = match.slice(1).map(Number);
  return calendarDay(year + (year < FIRST_YEAR ? 2000 : 1900), month, day);
}

/** Days since 1970-01-01 of the date fields of ZDA. */
export function dateFields(day = "", month = "", year = ""): FieldValue {
  if (!day && !month && !year) return Number.NaN;
  if (!/^\d{1,2}$/.test(day) || !/^\d{1,2}$/.test(month) || !/^\d{4}$/.test(year)) return null;
  return calendarDay(Number(year), Number(month), Number(day));
}

/**
 * "ddmm.mmmm" and its hemisphere in degrees, north and east positive. Degrees are everything before the last two digits of
 * the whole part.
 */
export function angleField(
  text: string | undefined,
  hemisphere: string | undefined,
  axis: "latitude" | "longitude",
): FieldValue {
  if (!text && !hemisphere) return Number.NaN;
  const match = /^(\d{0,3})(\d{2}(?:\.\d*)?)$/.exec(text ?? "");
  const [positive, negative, limit] = axis === "latitude" ? ["N", "S", 90] : ["E", "W", 180];
  if (!match || (hemisphere !== positive && hemisphere !== negative)) return null;
  const minutes = Number(match[2]);
  const degrees = Number(match[1]) + minutes / 60;
  if (minutes >= 60 || degrees > Number(limit)) return null;
  return hemisphere === negative ? -degrees + 0 : degrees; // + 0: no −0
}

function calendarDay(year: number, month: number, day: number): number | null {
  const date = new Date(Date.UTC(year, month - 1, day));
  if (year < 1000 || date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
  return date.getTime() / 86_400_000;
}
