/** A date with its time of day [s], apart so that no digit of the fraction is lost; UTC. */
export interface Instant {
  /** midnight of the day as written, seconds since 1970-01-01 */
  midnightS: number;
  /** seconds since that midnight, less the zone: may be negative or beyond a day */
  clockS: number;
}

const DATE_TIME = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d):(\d\d(?:[.,]\d+)?)\s*(Z|[+-]\d\d:?\d\d)?$/i;

/**
 * Reads xsd:dateTime ("2024-06-15T12:15:04.500+02:00"), with a blank for the T and a comma for the point as some write it.
 * Without a zone it is UTC, as GPX says. A day that is not in the calendar is null; second 60 is a leap second.
 */
export function readDateTime(text: string): Instant | null {
  const match = DATE_TIME.exec(text);
  if (!match) return null;
  const [year, month, day, hours, minutes] = match.slice(1, 6).map(Number);
  const seconds = Number(match[6].replace(",", "."));
  const date = new Date(Date.UTC(year, month - 1, day));
  if (year < 100 || date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
  const zoneS = zoneSeconds(match[7]);
  const clockS = hours * 3600 + minutes * 60 + seconds;
  if (zoneS === null || minutes > 59 || seconds >= 61 || hours > 24 || (hours === 24 && clockS > 86_400))
    return null;
  return {midnightS: date.getTime() / 1000, clockS: clockS - zoneS};
}

function zoneSeconds(zone: string | undefined): number | null {
  if (zone === undefined || /z/i.test(zone)) return 0;
  const [hours, minutes] = [Number(zone.slice(1, 3)), Number(zone.slice(-2))];
  if (hours > 14 || minutes > 59) return null;
  return (zone[0] === "-" ? -1 : 1) * (hours * 3600 + minutes * 60);
}
