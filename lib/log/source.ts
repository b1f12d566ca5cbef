import {createHash} from "node:crypto";
import {closeSync, constants, fstatSync, openSync, readSync} from "node:fs";
import {InputError} from "../result/error.ts";

/** Bytes of a log, read piece by piece so that a log larger than memory can be walked through. */
export interface ByteSource {
  /** path as the user gave it, for messages */
  file: string;
  /** number of bytes */
  size: number;
  /** bytes from `at`, at most `length` of them; fewer only at the end */
  read(at: number, length: number): Uint8Array;
  /** where the bytes are, for threads that read for themselves; absent where they are in memory only */
  place?: {descriptor: number; base: number};
  /** told by a reader of bytes that it walks through in order, so that they need not be read again for their hash */
  seen?(at: number, bytes: Uint8Array): void;
}

/** Piece of a file that is read at once [bytes]: large enough that calls cost nothing, small beside any log. */
export const PIECE_BYTES = 4 << 20;
/** One call to the system reads no more [bytes]: its count has 31 bits. */
const MOST_AT_ONCE = 1 << 30;

/**
 * Opens a file, hands its bytes to `use`, closes it whatever happens.
 *
 * @throws {InputError} 2: no such file, a folder, no permission, a loop of links, not a regular file
 */
export function withFile<T>(file: string, use: (source: ByteSource) => T): T {
  let descriptor: number;
  try {
    descriptor = openSync(file, constants.O_RDONLY | constants.O_NONBLOCK); // a pipe without a writer does not wait
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
      place: {descriptor, base: 0},
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

/** A source that hashes what its reader walks through, and in the end the rest. */
export function hashedSource(source: ByteSource): {source: ByteSource; sha256: () => string} {
  const hash = createHash("sha256");
  let done = 0;
  const hashTo = (end: number): void => {
    while (done < end) {
      const piece = source.read(done, Math.min(PIECE_BYTES, end - done));
      if (piece.length === 0) return; // the file became shorter
      hash.update(piece);
      done += piece.length;
    }
  };
  return {
    source: {
      ...source,
      seen(at, bytes) {
        hashTo(at);
        if (done !== at) return; // a second walk
        hash.update(bytes);
        done += bytes.length;
      },
    },
    /** of all bytes, lower-case hex */
    sha256() {
      hashTo(source.size);
      return hash.digest("hex");
    },
  };
}

function readPiece(descriptor: number, at: number, length: number): Uint8Array {
  const piece = Buffer.allocUnsafeSlow(Math.max(0, length));
  let filled = 0;
  while (filled < length) {
    const count = readSync(descriptor, piece, filled, Math.min(length - filled, MOST_AT_ONCE), at + filled);
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
