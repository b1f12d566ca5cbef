import {type Command, Option} from "commander";
import type {ReadLogOptions} from "../log/read.ts";
import {InputError} from "../result/error.ts";
import {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import type {Dimension} from "../units/table.ts";

/** Options that every command has which reads logs, as typed. */
export interface LogOptions {
  column?: string[];
  rate?: string;
  maxGap?: string;
  group?: string;
  json?: boolean;
}

/** Adds the options for logs whose names do not tell. */
export function addLogOptions(command: Command): Command {
  const repeated = (value: string, before: string[] = []): string[] => [...before, value];
  return command
    .addOption(
      new Option(
        "--column <name=column>",
        'the column of a quantity, such as speed="Velocity [km/h]", time=1:ms; may be repeated',
      ).argParser(repeated),
    )
    .option("--rate <rate>", "rate of the samples for a log without time, such as 20Hz")
    .option(
      "--max-gap <time>",
      "a longer step ends a pass, such as 2s (default: five median steps, at least 0.5 s)",
    )
    .option("--group <name>", "the table to read in a log that holds several")
    .option("--json", "print one JSON document");
}

/** What `readLog` needs of them. @throws {InputError} 2, naming the option */
export function readOptions({column, rate, group}: LogOptions): ReadLogOptions {
  return {
    columns: columnsOption(column ?? []),
    rateHz: rate === undefined ? undefined : quantityOption("--rate", rate, "frequency"),
    group,
  };
}

/** The longest step of a pass [s], or undefined. @throws {InputError} 2 */
export function maxGapOption({maxGap}: LogOptions): number | undefined {
  return maxGap === undefined ? undefined : quantityOption("--max-gap", maxGap, "time");
}

function columnsOption(written: string[]): Record<string, string> {
  const columns: Record<string, string> = {};
  for (const option of written) {
    const equals = option.indexOf("=");
    const [name, column] = [option.slice(0, equals).trim(), option.slice(equals + 1).trim()];
    if (equals < 1 || column === "") {
      throw wrongOption(
        `--column is "${option}", but NAME=COLUMN is needed`,
        'for example --column speed="Velocity [km/h]"',
      );
    }
    if (Object.hasOwn(columns, name))
      throw wrongOption(`--column gives two columns for ${name}`, "leave one of them out");
    columns[name] = column;
  }
  return columns;
}

/** A positive quantity given as an option, in SI. */
function quantityOption(option: string, written: string, dimension: Dimension): number {
  try {
    const {si} = parseQuantity(written, {dimension, name: option});
    if (si > 0) return si;
  } catch (error) {
    if (!(error instanceof UnitError)) throw error;
    throw new InputError(2, {code: error.code, words: error.message, hint: error.hint});
  }
  throw wrongOption(`${option} is "${written}", but it must be above 0`);
}

/** A whole number from 0 given as an option. @throws {InputError} 2 */
export function wholeNumberOption(option: string, written: string): number {
  const value = Number(written);
  if (/^\d+$/.test(written) && Number.isSafeInteger(value)) return value;
  throw wrongOption(
    `${option} is "${written}", but a whole number from 0 is needed`,
    `for example ${option} 4711`,
  );
}

/** An option that cannot be meant as it is written. */
export function wrongOption(words: string, hint?: string): InputError {
  return new InputError(2, {code: "option", words, hint});
}
