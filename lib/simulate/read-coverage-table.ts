import {createHash} from "node:crypto";
import {readFileSync} from "node:fs";
import {resolve} from "node:path";
import {recordInput} from "../log/record-input.ts";
import {InputError} from "../result/error.ts";
import type {CoverageTable} from "./coverage-table.ts";

/**
 * Reads a table of coverage as `npm run calibrate` writes it, such as `data-demo/coverage-table.json`.
 *
 * @throws {InputError} exit code 2: not readable, not such a table
 */
export function readCoverageTable(file: string, {cwd = process.cwd()}: {cwd?: string} = {}): CoverageTable {
  const path = resolve(cwd, file);
  const refuse = (words: string): never => {
    throw new InputError(2, {code: "coverage-table", file, words, hint: "npm run calibrate writes one"});
  };
  let bytes: Buffer;
  try {
    bytes = readFileSync(path);
  } catch (error) {
    return refuse(`cannot be read (${(error as NodeJS.ErrnoException).code ?? error})`);
  }
  let table: unknown;
  try {
    table = JSON.parse(bytes.toString("utf8"));
  } catch {
    return refuse("is not JSON");
  }
  const {format, rows} = (table ?? {}) as Partial<CoverageTable>;
  if (format !== "fairpull.coverage/1" || !Array.isArray(rows)) return refuse("is no table of coverage");
  recordInput(path, createHash("sha256").update(bytes).digest("hex"));
  return table as CoverageTable;
}
