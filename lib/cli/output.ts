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

/** What a command came to: its document, with the user's mistake in `error` where there was one. */
export interface Answer<D> {
  document: D;
  exitCode: 0 | 1 | 2;
}

/**
 * Prints an answer: a mistake on standard error, the document as JSON or in words.
 *
 * @param text the words; asked for only where nothing went wrong, unless `partial` says that it has words for a part too
 */
export function tellAnswer<D extends object>(
  io: CommandIO,
  {document, exitCode}: Answer<D>,
  {json = false, partial = false}: {json?: boolean | undefined; partial?: boolean},
  text: (document: Exclude<D, {error: ErrorWords}>) => string,
): void {
  io.exitCode = exitCode;
  const {error} = document as {error?: ErrorWords};
  if (error) tellError(io, error);
  if (json) io.stdout.write(documentText(document));
  else if (partial || !error) io.stdout.write(text(document as Exclude<D, {error: ErrorWords}>));
}

/** A table for people: columns as wide as their widest cell, numbers to the right. */
export function textTable(head: string[], rows: string[][], right: readonly number[] = []): string {
  const widths = head.map((title, k) => Math.max(title.length, ...rows.map(row => row[k].length)));
  return [head, ...rows]
    .map(row => row.map((cell, k) => (right.includes(k) ? cell.padStart(widths[k]) : cell.padEnd(widths[k]))))
    .map(cells => `${cells.join("  ").trimEnd()}\n`)
    .join("");
}
