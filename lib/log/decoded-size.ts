import {InputError} from "../result/error.ts";
import type {ByteSource} from "./source.ts";

/**
 * Bytes of columns that a byte of a compressed log may become. Real logs stay below 100 (channels that never change,
 * eight bytes each once they are read); what claims more is made to fill the memory.
 */
const LARGEST_RATIO = 512;
/** Small files may become so much in any case [bytes]. */
const ALLOWED_BYTES = 32 << 20;

/**
 * Refuses a log whose header claims more than a file of its size can hold, before anything is allocated for it.
 *
 * @param bytes memory that what is claimed would take
 * @throws {InputError} 1
 */
export function requirePossibleSize(source: ByteSource, bytes: number, what: string): void {
  if (bytes <= LARGEST_RATIO * source.size + ALLOWED_BYTES) return;
  throw new InputError(1, {
    code: "impossible-size",
    words: `${what} would fill ${Math.round(bytes / 1e6)} MB, out of a file of ${source.size} bytes`,
    file: source.file,
    hint: "the file is damaged, or no log; copy it from the logger again",
  });
}
