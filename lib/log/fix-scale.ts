import type {RawColumn} from "./reader.ts";

/**
 * The channel "fix" means the same whatever the format. Its scale is ours, since every format has another:
 *
 *     0  no fix
 *     1  estimated: dead reckoning, entered by hand, simulated
 *     2  position without height (2D)
 *     3  position with height (3D), and a fix that says no more than that it is one
 *     4  differential corrections, from a station or a satellite (DGNSS, SBAS)
 *     5  carrier phase, ambiguities not settled (RTK float)
 *     6  carrier phase, ambiguities settled (RTK fixed)
 */
export const LEAST_GOOD_FIX = 3;

/** A word for each fix of the scale, in its order. */
export const FIX_LABELS = ["none", "estimated", "2d", "3d", "dgps", "rtk float", "rtk fixed"];

/** Words for a fix, as GPX 1.1 (its type fixType) and loggers write them. */
const WORDS: [pattern: RegExp, fix: number][] = [
  [/^(?:none|no|no ?fix|invalid|not available|void|searching|false|v)$/, 0],
  [/^(?:dr|dead ?reckoning|estimated|simulat(?:or|ion|ed)|manual|time ?only)$/, 1],
  [/^(?:2d|2d ?fix|gps ?2d)$/, 2],
  [/^(?:3d|3d ?fix|gps ?3d|pps|gps|gnss|sps|fix|fixed|valid|true|single|autonomous|a)$/, 3],
  [/^(?:dgps|dgnss|3d ?[+/]? ?d(?:gps|gnss|iff)|differential|diff|sbas|waas|egnos|d)$/, 4],
  [/^(?:rtk ?float|float|float ?rtk|f)$/, 5],
  [/^(?:rtk ?fix(?:ed)?|rtk|fixed ?rtk|r)$/, 6],
];

/** Quality in GGA, by code 0 … 8 (NMEA 0183, sentence GGA, GPS quality indicator). */
const GGA = [0, 3, 4, 3, 6, 5, 1, 1, 1];
/** Type of fix in receivers' own messages, by code 0 … 5: none, dead reckoning, 2D, 3D, 3D with dead reckoning, time only. */
const TYPE = [0, 1, 2, 3, 3, 0];
/** Mode in GSA, by code 1 … 3 (NMEA 0183, sentence GSA, mode 2). */
const MODE = [0, 0, 2, 3];

/** Fix on our scale for a word, or null for a word that is none. */
export function fixOfWord(word: string): number | null {
  const plain = word.trim().toLowerCase().replaceAll(/[_-]+/g, " ");
  return WORDS.find(([pattern]) => pattern.test(plain))?.[1] ?? null;
}

/**
 * Values of a column of fixes on our scale; a code or word that is not known becomes NaN. By its name a column holds the
 * quality of GGA, the mode of GSA or a receiver's type; one of nothing but 0 and 1 says whether there is a fix.
 *
 * @returns values of the same length and what the numbers were taken for; null where no word of a text column is known
 */
export function onFixScale({header, kind, values, labels}: RawColumn): {
  values: Float64Array;
  takenFor: string;
} | null {
  if (kind === "text") {
    const fixes = (labels ?? []).map(fixOfWord);
    if (fixes.every(fix => fix === null)) return null;
    return {values: values.map(value => fixes[value] ?? Number.NaN), takenFor: "words"};
  }
  const read = (codes: readonly number[]) => values.map(value => codes[value] ?? Number.NaN);
  if (kind === "flag" || !values.some(value => value > 1))
    return {values: read([0, LEAST_GOOD_FIX]), takenFor: "1 = there is a fix"};
  if (/quality|gga/i.test(header)) return {values: read(GGA), takenFor: "the quality of GGA"};
  if (/mode|gsa/i.test(header)) return {values: read(MODE), takenFor: "the mode of GSA"};
  return {values: read(TYPE), takenFor: "a receiver's type of fix (2 = 2D, 3 = 3D)"};
}
