/** Numbers in pieces, so that not all of them need be in memory. */
export interface Values {
  length: number;
  /** number of pieces */
  pieces(): number;
  /** a piece, in the order 0, 1, …; overwritten by the next one */
  piece(k: number): Float64Array;
  /** all of them, where they are in memory */
  array?: Float64Array;
}

/** Numbers in memory, in one piece. */
export function inMemory(array: Float64Array): Values & {array: Float64Array} {
  return {length: array.length, pieces: () => 1, piece: () => array, array};
}

export function forEachPiece(values: Values, take: (piece: Float64Array, first: number) => void): void {
  let first = 0;
  for (let k = 0; k < values.pieces(); k++) {
    const piece = values.piece(k);
    take(piece, first);
    first += piece.length;
  }
}

/** As `forEachPiece`, of two of one length whose pieces lie side by side. */
export function forEachPair(
  a: Values,
  b: Values,
  take: (a: Float64Array, b: Float64Array, first: number) => void,
): void {
  let first = 0;
  for (let k = 0; k < a.pieces(); k++) {
    const piece = a.piece(k);
    take(piece, b.piece(k), first);
    first += piece.length;
  }
}

/** Pieces of numbers that are made from their places. */
const COUNTED_PIECE = 4096;

/** Numbers made from their places; in memory or not. */
export function counted(length: number, at: (i: number) => number, held: boolean): Values {
  if (held) return inMemory(Float64Array.from({length}, (_, i) => at(i)));
  const piece = (k: number) => {
    const first = k * COUNTED_PIECE;
    return Float64Array.from({length: Math.min(COUNTED_PIECE, length - first)}, (_, i) => at(first + i));
  };
  return {length, pieces: () => Math.ceil(length / COUNTED_PIECE), piece};
}

/** Every number as a function makes it that is begun anew with each look through them; in memory where they are. */
export function mapped(values: Values, begin: () => (value: number, i: number) => number): Values {
  if (values.array) {
    const change = begin();
    return inMemory(values.array.map((value, i) => change(value, i)));
  }
  let change = begin();
  let first = 0;
  let out = new Float64Array(0);
  return {
    length: values.length,
    pieces: values.pieces,
    piece(k) {
      if (k === 0) {
        change = begin();
        first = 0;
      }
      const piece = values.piece(k);
      if (out.length !== piece.length) out = new Float64Array(piece.length);
      for (let i = 0; i < piece.length; i++) out[i] = change(piece[i], first + i);
      first += piece.length;
      return out;
    },
  };
}

/** First finite number, or null. */
export function firstFinite(values: Values): number | null {
  for (let k = 0; k < values.pieces(); k++) {
    const found = values.piece(k).find(Number.isFinite);
    if (found !== undefined) return found;
  }
  return null;
}

/** Reads values at places that only go up. */
export function inOrder(values: Values): (i: number) => number {
  let [k, first, piece] = [0, 0, values.piece(0)];
  return i => {
    while (i >= first + piece.length) {
      first += piece.length;
      piece = values.piece(++k);
    }
    return piece[i - first];
  };
}

/** Steps between finite numbers that follow each other; NaN where there is none. */
export function stepsOf(values: Values): Values {
  return mapped(values, () => {
    let last = Number.NaN;
    return value => {
      if (value - value !== 0) return Number.NaN;
      const step = value - last;
      last = value;
      return step;
    };
  });
}
