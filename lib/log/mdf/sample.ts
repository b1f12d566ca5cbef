import type {MdfChannel, MdfGroup} from "./groups.ts";

/** Raw value of a channel in the record that starts at byte `at`. */
export type NumberSample = (view: DataView, at: number) => number;
/** Whole numbers too long for a double. */
export type LongSample = (view: DataView, at: number) => bigint;
export type TextSample = (view: DataView, at: number) => string;

export type Sample =
  | {kind: "number"; whole: boolean; read: NumberSample}
  | {kind: "long"; read: LongSample}
  | {kind: "text"; read: TextSample}
  | {kind: "none"; reason: string};

const ENCODINGS = ["windows-1252", "utf-8", "utf-16le", "utf-16be"];
/** What the types of channels and data are called that have no single number or text in the record. */
const OTHER_CHANNELS: Record<number, string> = {
  1: "its values have varying length and are kept apart from the records",
  4: "it synchronises with a picture or sound stream",
  5: "its values have varying length",
};
const OTHER_DATA: Record<number, string> = {
  10: "it holds bytes, not a number",
  11: "it holds media, not a number",
  12: "it holds media, not a number",
  13: "it holds a bus's own form of date",
  14: "it holds a bus's own form of time",
  15: "it holds complex numbers",
  16: "it holds complex numbers",
};

/** How the raw value of a channel is taken out of a record; channels without place in the record are not for here. */
export function sampleOf(channel: MdfChannel, group: MdfGroup): Sample {
  const {type, dataType, bitOffset, byteOffset, bitCount, single} = channel;
  if (!single) return {kind: "none", reason: "it is an array of values"};
  if (OTHER_CHANNELS[type]) return {kind: "none", reason: OTHER_CHANNELS[type]};
  if (OTHER_DATA[dataType]) return {kind: "none", reason: OTHER_DATA[dataType]};
  if (dataType > 9) return {kind: "none", reason: `its data are of the unknown type ${dataType}`};
  const bytes = Math.ceil((bitOffset + bitCount) / 8);
  if (bitCount === 0 || byteOffset + bytes > group.dataBytes) {
    return {kind: "none", reason: `it lies outside its record of ${group.dataBytes} bytes`};
  }
  if (dataType >= 6) return {kind: "text", read: textSample(byteOffset, bytes, ENCODINGS[dataType - 6])};
  if (dataType >= 4) return floatSample(byteOffset, bitOffset, bitCount, dataType === 4);
  if (bitOffset > 7 || bitCount > 64) {
    return {kind: "none", reason: `a whole number of ${bitCount} bits from bit ${bitOffset} is not known`};
  }
  const little = dataType === 0 || dataType === 2;
  const signed = dataType >= 2;
  if (bytes <= 6) return {kind: "number", whole: true, read: bitsSample(channel, bytes, little, signed)};
  return {kind: "long", read: longSample(channel, bytes, little, signed)};
}

function textSample(offset: number, bytes: number, encoding: string): TextSample {
  const decoder = new TextDecoder(encoding);
  return (view, at) => {
    const text = decoder.decode(new Uint8Array(view.buffer, view.byteOffset + at + offset, bytes));
    const end = text.indexOf("\0");
    return (end < 0 ? text : text.slice(0, end)).trim();
  };
}

function floatSample(offset: number, bitOffset: number, bits: number, little: boolean): Sample {
  if (bitOffset === 0 && bits === 64)
    return {kind: "number", whole: false, read: (view, at) => view.getFloat64(at + offset, little)};
  if (bitOffset === 0 && bits === 32)
    return {kind: "number", whole: false, read: (view, at) => view.getFloat32(at + offset, little)};
  return {kind: "none", reason: `a floating-point number of ${bits} bits from bit ${bitOffset} is not known`};
}

/** Up to six bytes: exact in a double. */
function bitsSample(channel: MdfChannel, bytes: number, little: boolean, signed: boolean): NumberSample {
  const {byteOffset: offset, bitOffset, bitCount} = channel;
  if (bitOffset === 0 && bitCount === 8 * bytes) {
    if (bytes === 1)
      return signed ? (view, at) => view.getInt8(at + offset) : (view, at) => view.getUint8(at + offset);
    if (bytes === 2)
      return signed
        ? (view, at) => view.getInt16(at + offset, little)
        : (view, at) => view.getUint16(at + offset, little);
    if (bytes === 4)
      return signed
        ? (view, at) => view.getInt32(at + offset, little)
        : (view, at) => view.getUint32(at + offset, little);
  }
  const shift = 2 ** bitOffset;
  const range = 2 ** bitCount;
  return (view, at) => {
    let whole = 0;
    for (let i = 0; i < bytes; i++) {
      whole = whole * 256 + view.getUint8(at + offset + (little ? bytes - 1 - i : i));
    }
    const value = Math.floor(whole / shift) % range;
    return signed && value >= range / 2 ? value - range : value;
  };
}

function longSample(channel: MdfChannel, bytes: number, little: boolean, signed: boolean): LongSample {
  const {byteOffset: offset, bitOffset, bitCount} = channel;
  if (bitOffset === 0 && bitCount === 64)
    return signed
      ? (view, at) => view.getBigInt64(at + offset, little)
      : (view, at) => view.getBigUint64(at + offset, little);
  const shift = BigInt(bitOffset);
  return (view, at) => {
    let whole = 0n;
    for (let i = 0; i < bytes; i++) {
      whole = (whole << 8n) | BigInt(view.getUint8(at + offset + (little ? bytes - 1 - i : i)));
    }
    return signed ? BigInt.asIntN(bitCount, whole >> shift) : BigInt.asUintN(bitCount, whole >> shift);
  };
}
