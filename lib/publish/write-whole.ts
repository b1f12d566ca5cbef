import {mkdir, rename, rm, writeFile} from "node:fs/promises";
import path from "node:path";
import {InputError} from "../result/error.ts";

/**
 * Writes a file whole or not at all: beside it first, then in its place. Missing folders are made.
 *
 * @throws {InputError} exit code 2: it cannot be written there
 */
export async function writeWhole(file: string, content: string | Uint8Array): Promise<void> {
  const beside = `${file}.${process.pid}.part`;
  try {
    await mkdir(path.dirname(path.resolve(file)), {recursive: true});
    await writeFile(beside, content);
    await rename(beside, file);
  } catch (error) {
    await rm(beside, {force: true}).catch(() => {}); // it may never have been there
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
    throw new InputError(2, {
      code: "page-unwritable",
      file,
      words: `the page cannot be written (${code})`,
      hint: "name another file with -o",
    });
  }
}
