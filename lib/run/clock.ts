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
