import type {Values} from "./values.ts";

/** Numbers held in little memory, to the last bit. */
export interface PackedValues extends Values {
  add(values: Float64Array, from: number, end: number): void;
  toArray(): Float64Array;
}

/** Numbers packed together. */
const PIECE = 4096;
/** Most decimals that are tried; loggers write fewer. */
const MOST_DECIMALS = 9;
const POWERS = Array.from({length: MOST_DECIMALS + 1}, (_, k) => Number(`1e${k}`));
/** Whole numbers beyond this have no place for a difference of two. */
const MOST_WHOLE = 2 ** 51;
type Whole = Uint8Array | Uint16Array | Uint32Array;

/** A piece as whole numbers of its last decimal, from the smallest on, or their steps; else as it is. */
interface Block {
  decimals: number;
  least: number;
  /** steps from one to the next; the first number is apart */
  steps: boolean;
  first: number;
  /** null where all are `least`; the largest number stands for NaN, which steps do not have */
  whole: Whole | null;
  /** distance in units of the last place from the decimal, where the numbers come from arithmetic */
  ulps: Int8Array | null;
}

const pair = new Float64Array(2);
const words = new Int32Array(pair.buffer);
const wholes = new Float64Array(PIECE);
const ulps = new Int8Array(PIECE);

/**
 * Holds numbers as loggers write them in one to four bytes each instead of eight: decimals of a few digits that change little from one to
 * the next. What is no such decimal is held as it is.
 */
export function packedValues(): PackedValues {
  const blocks: (Block | Float64Array)[] = [];
  const open = new Float64Array(PIECE);
  const scratch = new Float64Array(PIECE);
  let filled = 0;
  const pack = (values: Float64Array): Block | Float64Array => {
    for (let decimals = 0; decimals <= MOST_DECIMALS; decimals++) {
      const block = packed(values, decimals);
      if (block !== null) return block;
    }
    return values.slice();
  };
  const self: PackedValues = {
    length: 0,
    add(values, from, end) {
      for (let i = from; i < end; ) {
        const count = Math.min(end - i, PIECE - filled);
        open.set(values.subarray(i, i + count), filled);
        filled += count;
        i += count;
        self.length += count;
        if (filled < PIECE) continue;
        blocks.push(pack(open));
        filled = 0;
      }
    },
    pieces: () => blocks.length + (filled > 0 ? 1 : 0),
    piece(k) {
      if (k === blocks.length) return open.slice(0, filled);
      const block = blocks[k];
      if (block instanceof Float64Array) scratch.set(block);
      else unpack(block, scratch);
      return scratch;
    },
    toArray() {
      const all = new Float64Array(self.length);
      for (let k = 0; k < self.pieces(); k++) all.set(self.piece(k), k * PIECE);
      return all;
    },
  };
  return self;
}

/** The piece in whole numbers of so many decimals, or null where it does not come back bit by bit or takes as much as it is. */
function packed(values: Float64Array, decimals: number): Block | null {
  const power = POWERS[decimals];
  let missing = false;
  let exact = true;
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let [leastStep, mostStep] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    if (Number.isNaN(value)) {
      missing = true;
      wholes[i] = Number.NaN;
      continue;
    }
    const whole = Math.round(value * power);
    if (!(Math.abs(whole) < MOST_WHOLE) || (whole === 0 && !Object.is(value, 0))) return null; // the sign of zero
    const again = whole / power;
    let away = 0;
    if (again !== value) {
      pair[0] = again;
      pair[1] = value;
      away = words[2] - words[0];
      if (words[1] !== words[3] || Math.abs(away) > 127) return null;
      exact = false;
    }
    ulps[i] = away;
    if (whole < least) least = whole;
    if (whole > most) most = whole;
    wholes[i] = whole;
    const step = i === 0 ? Number.NaN : whole - wholes[i - 1];
    if (step < leastStep) leastStep = step;
    if (step > mostStep) mostStep = step;
  }
  if (least > most) least = most = 0; // nothing but NaN
  const steps = !missing && bytesFor(mostStep - leastStep) < bytesFor(most - least);
  const base = steps ? leastStep : least;
  const bytes = bytesFor(steps ? mostStep - leastStep : most - least + (missing ? 1 : 0));
  if (bytes > 4) return null;
  let whole: Whole | null = null;
  if (bytes > 0) {
    whole =
      bytes === 1 ? new Uint8Array(PIECE) : bytes === 2 ? new Uint16Array(PIECE) : new Uint32Array(PIECE);
    const none = 256 ** bytes - 1;
    for (let i = 0; i < values.length; i++) {
      const n = steps ? (i === 0 ? base : wholes[i] - wholes[i - 1]) : wholes[i];
      whole[i] = Number.isNaN(n) ? none : n - base;
    }
  }
  return {decimals, least: base, steps, first: wholes[0], whole, ulps: exact ? null : ulps.slice()};
}

/** Bytes for whole numbers from 0 on, one more left free. */
function bytesFor(range: number): number {
  return range === 0 ? 0 : range < 255 ? 1 : range < 65_535 ? 2 : range < 4_294_967_295 ? 4 : 8;
}

function unpack({decimals, least, steps, first, whole, ulps: away}: Block, into: Float64Array): void {
  const power = POWERS[decimals];
  const none = whole === null ? -1 : 256 ** whole.BYTES_PER_ELEMENT - 1;
  let last = first;
  for (let i = 0; i < PIECE; i++) {
    const n = whole === null ? 0 : whole[i];
    if (!steps) last = n + least;
    else if (i > 0) last += n + least;
    into[i] = n === none ? Number.NaN : last / power;
  }
  if (away === null) return;
  for (let i = 0; i < PIECE; i++) {
    if (away[i] === 0) continue;
    pair[0] = into[i];
    words[0] += away[i];
    into[i] = pair[0];
  }
}
