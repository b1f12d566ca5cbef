import type {ParquetType} from "hyparquet";

/** Values of one page or dictionary, without those that are missing. */
export type Values = Float64Array | BigInt64Array | Uint8Array[];

/** Bytes do not hold what they claim; the caller knows the place. */
export class PageError extends Error {}

/** Nanoseconds of a day, and the Julian day of 1970-01-01, of the old form of date-times in 96 bits. */
const DAY_NS = 86_400_000_000_000n;
const JULIAN_1970 = 2_440_588n;
const FIXED_BYTES: Partial<Record<ParquetType, number>> = {
  INT32: 4,
  INT64: 8,
  INT96: 12,
  FLOAT: 4,
  DOUBLE: 8,
};
/** Delta blocks are this long in every known writer, or shorter [values]. */
const LARGEST_BLOCK = 1 << 20;
/** Texts of a page that share their beginnings may become so long together [bytes]; writers end pages at 1 MB. */
const LARGEST_TEXTS = 64 << 20;

/** Plain values one behind the other. */
export function plainValues(bytes: Uint8Array, type: ParquetType, count: number, typeBytes: number): Values {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (type === "BYTE_ARRAY") return byteArrays(bytes, view, count);
  if (type === "BOOLEAN") {
    need(bytes, Math.ceil(count / 8));
    return Float64Array.from({length: count}, (_, i) => (bytes[i >> 3] >> (i & 7)) & 1);
  }
  const width = type === "FIXED_LEN_BYTE_ARRAY" ? typeBytes : FIXED_BYTES[type]!;
  need(bytes, count * width);
  if (type === "FIXED_LEN_BYTE_ARRAY") return fixedArrays(bytes, count, width);
  const values = type === "INT64" || type === "INT96" ? new BigInt64Array(count) : new Float64Array(count);
  for (let i = 0, at = 0; i < count; i++, at += width) {
    if (type === "DOUBLE") values[i] = view.getFloat64(at, true);
    else if (type === "FLOAT") values[i] = view.getFloat32(at, true);
    else if (type === "INT32") values[i] = view.getInt32(at, true);
    else if (type === "INT64") values[i] = view.getBigInt64(at, true);
    else
      values[i] = (BigInt(view.getInt32(at + 8, true)) - JULIAN_1970) * DAY_NS + view.getBigInt64(at, true);
  }
  return values;
}

function byteArrays(bytes: Uint8Array, view: DataView, count: number): Uint8Array[] {
  const values: Uint8Array[] = [];
  for (let i = 0, at = 0; i < count; i++) {
    need(bytes, at + 4);
    const end = at + 4 + view.getUint32(at, true);
    need(bytes, end);
    values.push(bytes.subarray(at + 4, end));
    at = end;
  }
  return values;
}

function fixedArrays(bytes: Uint8Array, count: number, width: number): Uint8Array[] {
  if (!(width > 0)) throw new PageError("fixed length of 0");
  return Array.from({length: count}, (_, i) => bytes.subarray(i * width, (i + 1) * width));
}

/** Values whose first bytes stand together, then their second bytes, … */
export function splitValues(bytes: Uint8Array, type: ParquetType, count: number, typeBytes: number): Values {
  const width = type === "FIXED_LEN_BYTE_ARRAY" ? typeBytes : FIXED_BYTES[type];
  if (!(width !== undefined && width > 0)) throw new PageError(`split values of ${type}`);
  need(bytes, count * width);
  const together = new Uint8Array(count * width);
  for (let b = 0; b < width; b++) {
    for (let i = 0; i < count; i++) together[i * width + b] = bytes[b * count + i];
  }
  return plainValues(together, type, count, typeBytes);
}

/**
 * Whole numbers as runs of one value and stretches of packed bits (levels and numbers of dictionary entries).
 *
 * @param width bits of a number, at most 32
 */
export function hybridValues(bytes: Uint8Array, width: number, count: number): Uint32Array {
  if (width > 32) throw new PageError(`numbers of ${width} bits`);
  const values = new Uint32Array(count);
  if (width === 0) return values;
  const reader = {at: 0};
  const valueBytes = Math.ceil(width / 8);
  for (let done = 0; done < count; ) {
    const head = Number(varint(bytes, reader));
    if (head % 2 === 0) {
      const run = Math.min(head / 2, count - done);
      need(bytes, reader.at + valueBytes);
      let value = 0;
      for (let b = 0; b < valueBytes; b++) value += bytes[reader.at++] * 2 ** (8 * b);
      if (value >= 2 ** width) throw new PageError(`${value} in ${width} bits`);
      values.fill(value, done, done + run);
      done += run;
    } else {
      const packed = Math.floor(head / 2) * 8;
      const wanted = Math.min(packed, count - done);
      need(bytes, reader.at + Math.ceil((wanted * width) / 8)); // the last stretch may be cut behind its last value
      for (let i = 0; i < wanted; i++) values[done++] = bitsAt(bytes, 8 * reader.at + i * width, width);
      reader.at += (packed / 8) * width;
    }
  }
  return values;
}

/**
 * Differences of whole numbers, packed in blocks.
 *
 * @param count at least 1
 * @returns values, and the place behind them
 */
export function deltaValues(
  bytes: Uint8Array,
  type: "INT32" | "INT64",
  count: number,
): {values: Float64Array | BigInt64Array; end: number} {
  const reader = {at: 0};
  const blockValues = Number(varint(bytes, reader));
  const parts = Number(varint(bytes, reader));
  const written = Number(varint(bytes, reader));
  const partValues = blockValues / parts;
  if (!(blockValues <= LARGEST_BLOCK && partValues >= 8 && partValues % 8 === 0 && written >= count)) {
    throw new PageError(`delta blocks of ${blockValues} values in ${parts} parts`);
  }
  const values = type === "INT32" ? new Float64Array(count) : new BigInt64Array(count);
  let value = zigzag(varint(bytes, reader));
  let done = 0;
  store();
  while (done < count) {
    const least = zigzag(varint(bytes, reader));
    const widths = bytes.subarray(reader.at, reader.at + parts);
    reader.at += parts;
    need(bytes, reader.at);
    for (const width of widths) {
      if (done >= count) break; // parts without values are not written
      if (width > 64) throw new PageError(`differences of ${width} bits`);
      const from = 8 * reader.at;
      reader.at += (partValues / 8) * width;
      need(bytes, reader.at);
      for (let i = 0; i < partValues && done < count; i++) {
        value += least + longBitsAt(bytes, from + i * width, width);
        store();
      }
    }
  }
  return {values, end: reader.at};

  /** Sums wrap around, as they did when the differences were taken. */
  function store(): void {
    value = BigInt.asIntN(type === "INT32" ? 32 : 64, value);
    if (values instanceof BigInt64Array) values[done++] = value;
    else values[done++] = Number(value);
  }
}

/** Texts as their lengths, then their letters; or (`shared`) each as what it shares with the one before and the rest. */
export function deltaArrays(bytes: Uint8Array, count: number, shared: boolean): Uint8Array[] {
  let at = 0;
  const lengths = () => {
    const {values, end} = deltaValues(bytes.subarray(at), "INT32", count);
    at += end;
    return values as Float64Array;
  };
  const common = shared ? lengths() : null;
  const rests = lengths();
  const values: Uint8Array[] = [];
  let total = 0;
  for (let i = 0; i < count; i++) {
    const prefix = common?.[i] ?? 0;
    const before = values[i - 1] ?? bytes.subarray(0, 0);
    if (!(rests[i] >= 0 && prefix >= 0 && prefix <= before.length)) throw new PageError("negative lengths");
    need(bytes, at + rests[i]);
    const rest = bytes.subarray(at, at + rests[i]);
    at += rests[i];
    if (prefix === 0) values.push(rest);
    else {
      total += prefix + rest.length;
      if (total > LARGEST_TEXTS) throw new PageError("texts too long for a page");
      const whole = new Uint8Array(prefix + rest.length);
      whole.set(before.subarray(0, prefix));
      whole.set(rest, prefix);
      values.push(whole);
    }
  }
  return values;
}

function need(bytes: Uint8Array, length: number): void {
  if (!(length <= bytes.length)) throw new PageError(`${length} bytes needed, ${bytes.length} there`);
}

function varint(bytes: Uint8Array, reader: {at: number}): bigint {
  let value = 0n;
  for (let i = 0; i < 10; i++) {
    need(bytes, reader.at + 1);
    const byte = bytes[reader.at++];
    value |= BigInt(byte & 127) << BigInt(7 * i);
    if (byte < 128) return value;
  }
  throw new PageError("a number of more than 64 bits");
}

function zigzag(value: bigint): bigint {
  return (value >> 1n) ^ -(value & 1n);
}

/** Up to 32 bits from any bit; bytes behind the end count as 0. */
function bitsAt(bytes: Uint8Array, bit: number, width: number): number {
  const first = Math.floor(bit / 8);
  const shift = bit - 8 * first;
  let whole = 0;
  for (let b = Math.ceil((shift + width) / 8) - 1; b >= 0; b--) whole = whole * 256 + (bytes[first + b] ?? 0);
  return Math.floor(whole / 2 ** shift) % 2 ** width;
}

function longBitsAt(bytes: Uint8Array, bit: number, width: number): bigint {
  if (width <= 32) return BigInt(bitsAt(bytes, bit, width));
  return BigInt(bitsAt(bytes, bit, 32)) + (BigInt(bitsAt(bytes, bit + 32, width - 32)) << 32n);
}
