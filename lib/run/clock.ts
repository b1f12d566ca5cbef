/**
 * Seconds of a clock time as written in a session: "14:05", "14:05:30.5", "2031-05-17T14:05:30" or with a blank.
 * A date-time without a zone is taken as it stands; only differences within one day are used.
 *
 * @returns seconds since midnight, or since 1970-01-01 where a date is given; null when it is neither
 */
export function clockSeconds(written: string): number | null {
  const parts = /^(?:(\d{4})-(\d{2})-(\d{2})[T ])?(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?$/.exec(
    written.trim(),
  );
  if (!parts) return null;
  const [, year, month, day, hours, minutes, seconds = "0"] = parts;
  if (Number(hours) > 23 || Number(minutes) > 59 || Number(seconds) >= 60) return null;
  const ofDay = Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds);
  if (year === undefined) return ofDay;
  const date = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  if (date.getUTCMonth() !== Number(month) - 1) return null;
  return date.getTime() / 1000 + ofDay;
}

/** Clock times below this [s] count from midnight, above from 1970: no log is from the first week of 1970. */
const WITHOUT_DATE_S = 7 * 86_400;

/** True where a clock time counts from 1970 and not from midnight. */
export function hasDate(clockS: number): boolean {
  return Math.abs(clockS) >= WITHOUT_DATE_S;
}

/** A clock time as a session writes it, to the second: "14:05:30", with the date before it where that is known. */
export function clockText(clockS: number): string {
  const iso = new Date(Math.floor(clockS) * 1000).toISOString();
  return hasDate(clockS) ? iso.slice(0, 19) : iso.slice(11, 19);
}
