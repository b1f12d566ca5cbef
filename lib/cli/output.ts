import {type ErrorWords, inputErrorText} from "../result/error.ts";
import type {CommandIO} from "./io.ts";

/** Digits of numbers in documents: all that a computation has to say, without its rounding. */
const DIGITS = 12;

/**
 * A document as JSON: keys in their order, numbers with 12 significant digits.
 *
 * @throws {RangeError} a number that is not finite; such must never reach a document
 */
export function documentText(document: object): string {
  const rounded = (key: string, value: unknown): unknown => {
    if (typeof value !== "number") return value;
    if (!Number.isFinite(value))
      throw new RangeError(`documentText: "${key}" is ${value}; null must stand there`);
    return Number(value.toPrecision(DIGITS));
  };
  return `${JSON.stringify(document, rounded, 2)}\n`;
}

/** Tells a mistake on standard error, in one line. */
export function tellError(io: CommandIO, error: ErrorWords): void {
  io.stderr.write(`fairpull: ${inputErrorText(error)}\n`);
}

/** A table for people: columns as wide as their widest cell, numbers to the right. */
export function textTable(head: string[], rows: string[][], right: readonly number[] = []): string {
  const widths = head.map((title, k) => Math.max(title.length, ...rows.map(row => row[k].length)));
  return [head, ...rows]
    .map(row => row.map((cell, k) => (right.includes(k) ? cell.padStart(widths[k]) : cell.padEnd(widths[k]))))
    .map(cells => `${cells.join("  ").trimEnd()}\n`)
    .join("");
}
