import {createHash} from "node:crypto";
import {closeSync, fstatSync, openSync, readSync} from "node:fs";
import {InputError} from "../result/error.ts";

/** Bytes of a log, read piece by piece so that a log larger than memory can be walked through. */
export interface ByteSource {
  /** path as the user gave it, for messages */
  file: string;
  /** number of bytes */
  size: number;
  /** bytes from `at`, at most `length` of them; fewer only at the end */
  read(at: number, length: number): Uint8Array;
}

/** Piece of a file that is read at once [bytes]: large enough that calls cost nothing, small beside any log. */
export const PIECE_BYTES = 4 << 20;

/**
 * Opens a file, hands its bytes to `use`, closes it whatever happens.
 *
 * @throws {InputError} 2: no such file, a folder, no permission, a loop of links, not a regular file
 */
export function withFile<T>(file: string, use: (source: ByteSource) => T): T {
  let descriptor: number;
  try {
    descriptor = openSync(file, "r");
  } catch (error) {
    throw fileError(file, error);
  }
  try {
    const stat = fstatSync(descriptor);
    if (stat.isDirectory()) throw folderError(file);
    if (!stat.isFile()) {
      throw new InputError(2, {
        code: "not-a-file",
        words: "this is no regular file",
        file,
        hint: "give the path of a log",
      });
    }
    return use({
      file,
      size: stat.size,
      read: (at, length) => readPiece(descriptor, at, Math.min(length, stat.size - at)),
    });
  } catch (error) {
    throw (error as NodeJS.ErrnoException).syscall === undefined ? error : fileError(file, error);
  } finally {
    closeSync(descriptor);
  }
}

/** Bytes already in memory as a source. */
export function memorySource(file: string, bytes: Uint8Array): ByteSource {
  return {
    file,
    size: bytes.length,
    read: (at, length) => bytes.subarray(at, Math.min(at + length, bytes.length)),
  };
}

/** SHA-256 of all bytes, lower-case hex. */
export function sha256Of(source: ByteSource): string {
  const hash = createHash("sha256");
  for (let at = 0; at < source.size; at += PIECE_BYTES) hash.update(source.read(at, PIECE_BYTES));
  return hash.digest("hex");
}

function readPiece(descriptor: number, at: number, length: number): Uint8Array {
  const piece = Buffer.allocUnsafeSlow(Math.max(0, length));
  let filled = 0;
  while (filled < length) {
    const count = readSync(descriptor, piece, filled, length - filled, at + filled);
    if (count === 0) break; // the file became shorter while it was read
    filled += count;
  }
  return piece.subarray(0, filled);
}

function folderError(file: string): InputError {
  return new InputError(2, {
    code: "is-a-folder",
    words: "this is a folder, a log file is needed",
    file,
    hint: "give the path of one file in it",
  });
}

/** What the operating system's codes mean to the user. */
const SYSTEM_WORDS: Record<string, [code: string, words: string, hint: string]> = {
  ENOENT: ["no-such-file", "there is no such file", "check the path"],
  ENOTDIR: ["no-such-file", "part of the path is a file, not a folder", "check the path"],
  EACCES: ["no-permission", "the file may not be read", "change its permissions"],
  EPERM: ["no-permission", "the file may not be read", "change its permissions"],
  ELOOP: ["link-loop", "the link leads back to itself", "give the path of the file it should lead to"],
  ENAMETOOLONG: ["no-such-file", "the path is too long", "check the path"],
};

function fileError(file: string, error: unknown): InputError {
  const system = (error as NodeJS.ErrnoException).code ?? "unknown";
  if (system === "EISDIR") return folderError(file);
  const [code, words, hint] = SYSTEM_WORDS[system] ?? [
    "file-unreadable",
    `the file cannot be read (${system})`,
    "check the path and the disk",
  ];
  return new InputError(2, {code, words, file, hint});
}
