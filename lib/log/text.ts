import {InputError} from "../result/error.ts";
import type {ByteSource} from "./source.ts";
import {memorySource} from "./source.ts";

const utf8 = new TextDecoder("utf-8", {fatal: true});
const latin1 = new TextDecoder("windows-1252"); // holds ISO 8859-1; no byte is an error

/** The text of some bytes: UTF-8 where they are valid UTF-8, else Latin-1. */
export function textOf(bytes: Uint8Array): string {
  return utf8TextOf(bytes) ?? latin1.decode(bytes);
}

/** The text of bytes that are valid UTF-8, else null. */
export function utf8TextOf(bytes: Uint8Array): string | null {
  try {
    return utf8.decode(bytes);
  } catch {
    return null;
  }
}

/**
 * A cell or line as people see it: without the codes that move a terminal's cursor, without NUL and other control
 * characters, trimmed; a character that was UTF-8 encoded twice ("Â°") is put right.
 */
export function cleanText(text: string): string {
  return text
    .replace(/\u001b(?:\[[0-?]*[ -/]*[@-~]|[@-Z\\-_])/g, "")
    .replace(/[\u0000-\u0008\u000b-\u001f\u007f\ufeff]/g, "")
    .replace(/Â(?=[°µ²³º])/g, "")
    .trim();
}

/** How the bytes of a text file are written. */
export type Encoding = "UTF-8" | "UTF-8 with byte-order mark" | "UTF-16";

/** Larger texts in UTF-16 are not decoded: they would have to be in memory whole, several times [bytes]. */
const MOST_UTF16_BYTES = 512 << 20;

/**
 * A source of UTF-8 (or Latin-1) bytes without byte-order mark. UTF-16, with its mark or told by a NUL in every other
 * byte, is decoded whole into memory; anything else is passed on as it is.
 *
 * @throws {InputError} 1: UTF-16 too large for that
 */
export function plainTextSource(source: ByteSource): {source: ByteSource; encoding: Encoding} {
  const head = source.read(0, 4096);
  if (head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf) {
    const {file, size, place, seen} = source;
    const shifted: ByteSource = {
      file,
      size: size - 3,
      place: place && {descriptor: place.descriptor, base: place.base + 3},
      read: (at, length) => source.read(at + 3, length),
      seen: (at, bytes) => seen?.(at + 3, bytes),
    };
    return {source: shifted, encoding: "UTF-8 with byte-order mark"};
  }
  const order = utf16Order(head);
  if (order === null) return {source, encoding: "UTF-8"};
  if (source.size > MOST_UTF16_BYTES) {
    throw new InputError(1, {
      code: "utf-16-too-large",
      words: `text in UTF-16 is read up to ${MOST_UTF16_BYTES >> 20} MiB, this has ${Math.ceil(source.size / 2 ** 20)}`,
      file: source.file,
      hint: "save it as UTF-8, which is read at any size",
    });
  }
  const text = new TextDecoder(order).decode(source.read(0, source.size));
  return {source: memorySource(source.file, new TextEncoder().encode(text)), encoding: "UTF-16"};
}

/** Byte order of UTF-16 text, or null for bytes that are none. */
export function utf16Order(head: Uint8Array): "utf-16le" | "utf-16be" | null {
  if (head[0] === 0xff && head[1] === 0xfe) return "utf-16le";
  if (head[0] === 0xfe && head[1] === 0xff) return "utf-16be";
  const nul = [0, 0];
  for (let i = 0; i < head.length; i++) if (head[i] === 0) nul[i & 1]++;
  const half = head.length >> 1;
  if (half < 8) return null;
  // Latin text in UTF-16 has a NUL as nearly every high byte and never as a low one
  if (nul[1] > 0.9 * half && nul[0] === 0) return "utf-16le";
  if (nul[0] > 0.9 * half && nul[1] === 0) return "utf-16be";
  return null;
}

/** First bytes of files that are no text, and what to tell their owners. */
const SIGNATURES: [bytes: number[], what: string, hint: string][] = [
  [[0x50, 0x4b, 0x03, 0x04], "a ZIP archive (or a spreadsheet)", "unpack it, or export the sheet as CSV"],
  [[0x1f, 0x8b], "a gzip archive", "unpack it first"],
  [[0x42, 0x5a, 0x68], "a bzip2 archive", "unpack it first"],
  [[0x37, 0x7a, 0xbc, 0xaf], "a 7z archive", "unpack it first"],
  [[0xfd, 0x37, 0x7a, 0x58], "an xz archive", "unpack it first"],
  [[0x25, 0x50, 0x44, 0x46], "a PDF document", "give the log it was made from"],
  [[0x89, 0x50, 0x4e, 0x47], "a PNG picture", "give the log it was made from"],
  [[0xff, 0xd8, 0xff], "a JPEG picture", "give the log it was made from"],
  [[0x7f, 0x45, 0x4c, 0x46], "a program", "give a log"],
  [[0x4d, 0x5a, 0x90], "a program", "give a log"],
  [[0xd0, 0xcf, 0x11, 0xe0], "an old office document", "export the sheet as CSV"],
  [[0x53, 0x51, 0x4c, 0x69], "a database", "export the table as CSV"],
];

/** Share of control bytes above which a file is taken for binary; serial captures have a few in a line. */
const BINARY_SHARE = 0.1;

/** What a file without readable text seems to be, with a hint, or null for text. */
export function binaryKind(head: Uint8Array): {what: string; hint: string} | null {
  for (const [bytes, what, hint] of SIGNATURES) {
    if (bytes.every((byte, i) => head[i] === byte)) return {what, hint};
  }
  if (utf16Order(head) !== null) return null;
  let control = 0;
  let nul = 0;
  for (let i = 0; i < head.length; i++) {
    const byte = head[i];
    if (byte === 0) nul++;
    else if (byte < 32 && byte !== 9 && byte !== 10 && byte !== 13 && byte !== 27) control++;
  }
  // NUL alone is told apart: a logger that loses power leaves blocks of them behind good text
  const text = head.length - nul;
  if (control > BINARY_SHARE * Math.max(text, 1) || text < BINARY_SHARE * head.length) {
    return {what: "binary data, not text", hint: "give the log as the logger exports it"};
  }
  return null;
}
