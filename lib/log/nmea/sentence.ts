/** A sentence of NMEA 0183 after its checksum was looked at. */
export interface Sentence {
  /** "RMC", "GGA", … */
  type: string;
  /** upper case; the address is number 0 */
  fields: string[];
  /** false where the sentence carries no checksum */
  checked: boolean;
  /** line of the file, counted from 1 */
  line: number;
}

/** What a piece of text behind a "$" turned out to be. */
export type Piece =
  | {kind: "sentence"; type: string; fields: string[]; checked: boolean; rest: string}
  | {kind: "cut"}
  | {kind: "refused"; reason: string};

/** Fields, address included, that a sentence without checksum must have to be taken as complete. */
const COMPLETE_FIELDS: Record<string, number> = {RMC: 12, GGA: 15, VTG: 9, ZDA: 7};

/**
 * Reads what follows a "$" up to the next one or the end of the line.
 *
 * A checksum must be right for the characters as written or, in a capture that was turned into lower case, for their
 * capitals. Without one the sentence must have all its fields, so that none of them can have been cut.
 */
export function readPiece(text: string): Piece {
  const star = text.indexOf("*");
  const body = (star < 0 ? text : text.slice(0, star)).trimEnd();
  const fields = body.toUpperCase().split(",");
  const address = fields[0];
  if (star >= 0) {
    const digits = /^[0-9a-f]{2}/i.exec(text.slice(star + 1, star + 3));
    if (!digits) return {kind: "cut"};
    if (!checksumFits(text.slice(0, star), Number.parseInt(digits[0], 16))) {
      return {kind: "refused", reason: "wrong checksum"};
    }
  }
  if (/^P[A-Z0-9]{2,}$/.test(address)) return {kind: "refused", reason: "proprietary sentence, not used"};
  if (!/^[A-Z]{2}[A-Z]{3}$/.test(address)) {
    return star < 0 ? {kind: "cut"} : {kind: "refused", reason: "sentence without a type"};
  }
  const type = address.slice(2);
  if (star < 0) {
    const complete = COMPLETE_FIELDS[type];
    if (complete === undefined) return {kind: "refused", reason: `${type} sentence, not used`};
    if (fields.length < complete) return {kind: "cut"};
  }
  return {
    kind: "sentence",
    type,
    fields,
    checked: star >= 0,
    rest: star < 0 ? "" : text.slice(star + 3).trim(),
  };
}

/** Exclusive or of all characters between "$" and "*", neither included (NMEA 0183, checksum field). */
export function checksum(body: string): number {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return sum;
}

function checksumFits(body: string, written: number): boolean {
  return checksum(body) === written || checksum(body.toUpperCase()) === written;
}
