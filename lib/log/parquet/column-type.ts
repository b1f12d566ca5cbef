import type {SchemaElement, TimeUnit} from "hyparquet";
import {parseFloat16} from "hyparquet/src/convert.js";
import type {ColumnKind} from "../reader.ts";
import type {Values} from "./encodings.ts";

/** What the values of a column mean. */
export type ColumnType =
  /** numbers that a double holds: `numbers` turns the values of a page into them */
  | {as: "number"; kind: ColumnKind; numbers(values: Values): Float64Array}
  /** whole numbers of 64 bits: the value is the number divided by `divisor` */
  | {as: "long"; kind: ColumnKind; divisor: bigint; unsigned: boolean}
  | {as: "text"}
  | {as: "none"; reason: string};

const PER_SECOND: Record<TimeUnit, bigint> = {MILLIS: 1000n, MICROS: 1_000_000n, NANOS: 1_000_000_000n};
const DAY_S = 86_400;
/** Bytes of a decimal number of 76 digits, the longest that writers know. */
const LONGEST_DECIMAL = 32;
const TEXTS = ["STRING", "ENUM", "JSON", "UTF8"];

/** How the values of a column are to be understood, by its physical and its logical type, the old form included. */
export function columnType(element: SchemaElement): ColumnType {
  const {type, converted_type: old, logical_type: logical} = element;
  const meaning = logical?.type ?? old;
  if (meaning === "DECIMAL") return decimal(element);
  switch (type) {
    case "BOOLEAN":
      return scaled("flag", 1);
    case "INT32":
      if (meaning === "DATE") return scaled("date", 1 / DAY_S);
      if (logical?.type === "TIME") return scaled("clock", Number(PER_SECOND[logical.unit]));
      if (old === "TIME_MILLIS") return scaled("clock", 1000);
      if (
        old === "UINT_32" ||
        (logical?.type === "INTEGER" && logical.bitWidth === 32 && !logical.isSigned)
      ) {
        return {
          as: "number",
          kind: "number",
          numbers: values => (values as Float64Array).map(value => value >>> 0),
        };
      }
      return scaled("number", 1);
    case "INT64":
      return long(element);
    case "INT96":
      return {as: "long", kind: "date-time", divisor: PER_SECOND.NANOS, unsigned: false};
    case "FLOAT":
    case "DOUBLE":
      return scaled("number", 1);
    case "BYTE_ARRAY":
      if (meaning === undefined || TEXTS.includes(meaning)) return {as: "text"};
      return {as: "none", reason: `it holds ${meaning}, not numbers or texts`};
    case "FIXED_LEN_BYTE_ARRAY":
      if (meaning === "FLOAT16") {
        const numbers = (values: Values) =>
          Float64Array.from(values as Uint8Array[], value => parseFloat16(value)!);
        return {as: "number", kind: "number", numbers};
      }
      return {as: "none", reason: `it holds ${meaning ?? "bytes"}, not numbers or texts`};
    default:
      return {as: "none", reason: "its type is not known"};
  }
}

/** Values divided by a number; by 1 they stay as they are. */
function scaled(kind: ColumnKind, divisor: number): ColumnType {
  const numbers = (values: Values) =>
    divisor === 1 ? (values as Float64Array) : (values as Float64Array).map(value => value / divisor);
  return {as: "number", kind, numbers};
}

function long({converted_type: old, logical_type: logical}: SchemaElement): ColumnType {
  const unsigned = old === "UINT_64" || (logical?.type === "INTEGER" && !logical.isSigned);
  if (logical?.type === "TIMESTAMP" || logical?.type === "TIME") {
    const kind = logical.type === "TIME" ? "clock" : "date-time";
    return {as: "long", kind, divisor: PER_SECOND[logical.unit], unsigned};
  }
  if (old === "TIMESTAMP_MILLIS" || old === "TIMESTAMP_MICROS") {
    const divisor = old === "TIMESTAMP_MILLIS" ? PER_SECOND.MILLIS : PER_SECOND.MICROS;
    return {as: "long", kind: "date-time", divisor, unsigned};
  }
  if (old === "TIME_MICROS") return {as: "long", kind: "clock", divisor: PER_SECOND.MICROS, unsigned};
  return {as: "long", kind: "number", divisor: 1n, unsigned};
}

/** Decimal numbers: whole numbers of any length, and how many digits stand behind the point. */
function decimal({scale = 0, logical_type: logical}: SchemaElement): ColumnType {
  const divisor = 10 ** Number(logical?.type === "DECIMAL" ? logical.scale : scale);
  return {
    as: "number",
    kind: "number",
    numbers(values) {
      const whole = (value: number | bigint | Uint8Array) =>
        value instanceof Uint8Array ? bigEndian(value) : Number(value);
      return Float64Array.from({length: values.length}, (_, i) => whole(values[i]) / divisor);
    },
  };
}

function bigEndian(bytes: Uint8Array): number {
  if (bytes.length > LONGEST_DECIMAL) return Number.NaN;
  let value = 0n;
  for (const byte of bytes) value = (value << 8n) | BigInt(byte);
  return Number(BigInt.asIntN(8 * bytes.length, value));
}
