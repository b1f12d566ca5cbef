import {type FileMetaData, parquetMetadata} from "hyparquet";
import {InputError} from "../../result/error.ts";
import {damaged} from "../damaged.ts";
import {requirePossibleSize} from "../decoded-size.ts";
import type {ByteSource} from "../source.ts";
import {walkThrift} from "./thrift-check.ts";

export const MAGIC = "PAR1";
/** Where the footer itself is encrypted the file begins and ends with this. */
export const ENCRYPTED_MAGIC = "PARE";
/** Length of the footer and the letters behind it. */
const TAIL_BYTES = 8;
/** Memory that the library takes for a field or an element of the footer, at most [bytes]. */
const PART_BYTES = 200;

export function magicOf(bytes: Uint8Array): string {
  return String.fromCharCode(...bytes.subarray(0, 4));
}

/** The footer: columns, row groups and where their pages are. */
export function readFooter(source: ByteSource): FileMetaData {
  const {file, size} = source;
  if (magicOf(source.read(0, 4)) === ENCRYPTED_MAGIC) throw encrypted(file);
  const tail = source.read(Math.max(0, size - TAIL_BYTES), TAIL_BYTES);
  const end = magicOf(tail.subarray(4));
  if (end === ENCRYPTED_MAGIC) throw encrypted(file);
  if (size < 4 + TAIL_BYTES || end !== MAGIC) {
    throw damaged(file, "the file is cut: its footer, which says where everything is, is missing");
  }
  const length = new DataView(tail.buffer, tail.byteOffset).getUint32(0, true);
  if (length > size - 4 - TAIL_BYTES) {
    throw damaged(file, `the footer should have ${length} bytes, the whole file has ${size}`);
  }
  const footer = source.read(size - TAIL_BYTES - length, length + TAIL_BYTES);
  const walked = walkThrift(footer.subarray(0, length), 0);
  if (walked === null) throw damaged(file, "the footer is damaged");
  requirePossibleSize(source, walked.parts * PART_BYTES, "the footer");
  try {
    return parquetMetadata(footer, {geoparquet: false});
  } catch {
    throw damaged(file, "the footer does not describe columns and row groups");
  }
}

function encrypted(file: string): InputError {
  return new InputError(1, {
    code: "encrypted",
    words: "the file is encrypted",
    file,
    hint: "export it without encryption",
  });
}
