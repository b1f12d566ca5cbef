import {UnitError} from "./error.ts";
import type {Dimension} from "./table.ts";
import {fromSI, parseUnit, siSymbol, toSI, withArticle} from "./unit.ts";

/** A number with its unit, as written and in SI. */
export interface Quantity {
  /** value in `unit`, as written */
  value: number;
  /** symbol of the unit, one spelling for each unit ("kph" is read as km/h) */
  unit: string;
  dimension: Dimension;
  /** value in the SI unit of the dimension (degrees for angles, r/min for rotational speed) */
  si: number;
}

/** What a quantity is needed for. */
export interface ParseQuantityOptions {
  /** the dimension that is needed; without it any is accepted */
  dimension?: Dimension;
  /** what the text stands for, to begin messages with: "band.from" */
  name?: string;
}

const NUMBER = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$/s;
const COMMA_NUMBER = /^[+-]?\d+(?:[.\s]\d{3})*,\d+/;

/**
 * Reads a number with its unit: "60 km/h", "60km/h", "-5 %", "21 °C", "0.15 s". The decimal sign is the point.
 * A number alone is read where the needed dimension is a ratio ("0.55").
 *
 * @throws {UnitError} no number, a decimal comma, a missing or unknown unit, a unit of another dimension
 */
export function parseQuantity(text: string, options: ParseQuantityOptions = {}): Quantity {
  const {dimension, name} = options;
  const start = name === undefined ? "" : `${name}: `;
  const written = text.trim().replace(/^[−–](?=[\d.])/, "-");
  const example = dimension === undefined ? "60 km/h" : `60 ${siSymbol(dimension)}`;
  if (COMMA_NUMBER.test(written)) {
    const point = written.replace(",", ".");
    throw new UnitError(
      "decimal-comma",
      `${start}"${written}" has a decimal comma`,
      `write the decimal point, "${point}"`,
    );
  }
  const match = NUMBER.exec(written);
  if (!match)
    throw new UnitError(
      "not-a-quantity",
      `${start}"${written}" is not a number with a unit`,
      `write it like "${example}"`,
    );
  const value = Number(match[1]);
  if (!Number.isFinite(value))
    throw new UnitError("not-a-quantity", `${start}${match[1]} is too large a number`);
  if (match[2] === "" && dimension !== "ratio") {
    const needs = dimension === undefined ? "" : `, ${withArticle(dimension)} is needed`;
    throw new UnitError(
      "missing-unit",
      `${start}"${written}" has no unit${needs}`,
      `write it like "${example}"`,
    );
  }
  const unit = parseUnit(match[2] || "1", name);
  if (dimension !== undefined && unit.dimension !== dimension) {
    throw new UnitError(
      "wrong-dimension",
      `${start}${written} is ${withArticle(unit.dimension)}, ${withArticle(dimension)} is needed`,
    );
  }
  return {value, unit: unit.symbol, dimension: unit.dimension, si: toSI(value, unit)};
}

/** How a quantity is printed. */
export interface PrintQuantityOptions {
  /** significant digits; without it as many as are needed to read the same SI value back */
  digits?: number;
}

/**
 * A value in SI as text in the given unit: `printQuantity(16.6666…, "km/h")` → "60 km/h". `parseQuantity` reads it
 * back: exactly where the value came from a decimal number in that unit, else within rounding of the conversion.
 *
 * @throws {RangeError} value not finite, digits outside 1 … 17, unknown unit
 */
export function printQuantity(valueSI: number, unit: string, options: PrintQuantityOptions = {}): string {
  if (!Number.isFinite(valueSI))
    throw new RangeError(`printQuantity: the value must be finite, found ${valueSI}`);
  const {digits} = options;
  if (digits !== undefined && !(Number.isInteger(digits) && digits >= 1 && digits <= 17)) {
    throw new RangeError(`printQuantity: digits must be 1 to 17, found ${digits}`);
  }
  const row = parseUnit(unit);
  const written = fromSI(valueSI, row);
  const number =
    digits === undefined ? shortest(written, text => toSI(text, row) === valueSI) : rounded(written, digits);
  return row.symbol === "1" ? `${number}` : `${number} ${row.symbol}`;
}

function rounded(value: number, digits: number): number {
  return Number(value.toPrecision(digits)) + 0; // + 0: no "-0"
}

/** The value with fewest digits that still means the same. */
function shortest(value: number, same: (value: number) => boolean): number {
  for (let digits = 1; digits < 17; digits++) {
    const short = rounded(value, digits);
    if (same(short)) return short;
  }
  return value + 0;
}
