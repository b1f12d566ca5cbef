import {readFileSync, statSync} from "node:fs";
import {InputError} from "../result/error.ts";

/** A session of hundreds of runs is some 50 KB; anything far larger is not a session file. */
const MAX_BYTES = 4_000_000;

/**
 * Bytes of a session file of any kind of test.
 *
 * @param file how messages name it
 * @throws {InputError} exit code 2: not there, a folder, not readable, too large
 */
export function readSessionFile(path: string, file: string): Buffer {
  try {
    const size = statSync(path).size;
    if (size > MAX_BYTES) {
      throw new InputError(2, {
        code: "session-too-large",
        file,
        words: `${size} bytes is no session file`,
        hint: "give the session file, not a log",
      });
    }
    return readFileSync(path);
  } catch (error) {
    if (error instanceof InputError) throw error;
    const {code} = error as NodeJS.ErrnoException;
    const words =
      code === "ENOENT"
        ? "no such file"
        : code === "EISDIR"
          ? "is a folder, a session file is needed"
          : `cannot be read (${code ?? (error as Error).message})`;
    throw new InputError(2, {code: "session-unreadable", file, words, hint: "check the path"});
  }
}
