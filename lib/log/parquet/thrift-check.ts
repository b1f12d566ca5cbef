/** Types of the compact protocol (github.com/apache/thrift, doc/specs/thrift-compact-protocol.md). */
const TYPE = {
  stop: 0,
  true: 1,
  false: 2,
  byte: 3,
  i16: 4,
  i32: 5,
  i64: 6,
  double: 7,
  binary: 8,
  list: 9,
  struct: 12,
};
/** Structures inside structures; those of Parquet go half as deep. */
const DEEPEST = 24;
/** Bytes of the longest whole number: 64 bits by 7. */
const LONGEST_NUMBER = 10;

/**
 * Walks through one structure of the compact protocol and keeps nothing: every list, text and number is seen to be
 * there before the library, which sets memory aside for what lengths claim, reads it.
 *
 * @param bytes bytes that the structure lies in
 * @param start where it begins
 * @returns number of parts (fields and elements) and the place behind it, or null where it is damaged
 */
export function walkThrift(bytes: Uint8Array, start: number): {parts: number; end: number} | null {
  let at = start;
  let parts = 0;
  return struct(0) ? {parts, end: at} : null;

  function struct(depth: number): boolean {
    if (depth > DEEPEST) return false;
    for (;;) {
      if (at >= bytes.length) return false;
      const head = bytes[at++];
      const type = head & 15;
      if (type === TYPE.stop) return true;
      if (head >> 4 === 0 && number() === null) return false;
      if (!element(type, depth)) return false;
    }
  }

  function element(type: number, depth: number): boolean {
    parts++;
    if (type === TYPE.true || type === TYPE.false) return true;
    if (type === TYPE.byte) return skip(1);
    if (type === TYPE.i16 || type === TYPE.i32 || type === TYPE.i64) return number() !== null;
    if (type === TYPE.double) return skip(8);
    if (type === TYPE.struct) return struct(depth + 1);
    if (type === TYPE.binary) {
      const length = number();
      return length !== null && skip(length);
    }
    return type === TYPE.list && list(depth + 1);
  }

  function list(depth: number): boolean {
    if (depth > DEEPEST || at >= bytes.length) return false;
    const head = bytes[at++];
    const type = head & 15;
    const count = head >> 4 === 15 ? number() : head >> 4;
    if (count === null || count > bytes.length - at) return false; // no element is shorter than a byte
    for (let i = 0; i < count; i++) {
      const flag = type === TYPE.true || type === TYPE.false; // takes a byte in a list, none as a field
      if (!element(flag ? TYPE.byte : type, depth)) return false;
    }
    return true;
  }

  function number(): number | null {
    let value = 0;
    for (let i = 0; i < LONGEST_NUMBER && at < bytes.length; i++) {
      const byte = bytes[at++];
      value += (byte & 127) * 2 ** (7 * i);
      if (byte < 128) return value;
    }
    return null;
  }

  function skip(length: number): boolean {
    at += length;
    return at <= bytes.length;
  }
}
