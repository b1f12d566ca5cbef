import type {ColumnMetaData, Encoding, PageHeader, ParquetType} from "hyparquet";
import {parquetHeader} from "hyparquet/src/column.js";
import {damaged} from "../damaged.ts";
import {requirePossibleSize} from "../decoded-size.ts";
import type {ByteSource} from "../source.ts";
import {decompress} from "./decompress.ts";
import {
  deltaArrays,
  deltaValues,
  hybridValues,
  PageError,
  plainValues,
  splitValues,
  type Values,
} from "./encodings.ts";
import {walkThrift} from "./thrift-check.ts";

/** Encodings that are read. */
export const ENCODINGS: readonly Encoding[] = [
  "PLAIN",
  "PLAIN_DICTIONARY",
  "RLE_DICTIONARY",
  "RLE",
  "DELTA_BINARY_PACKED",
  "DELTA_LENGTH_BYTE_ARRAY",
  "DELTA_BYTE_ARRAY",
  "BYTE_STREAM_SPLIT",
];

/** Part of a column in one row group, checked to lie in the file. */
export interface Chunk {
  column: string;
  meta: ColumnMetaData;
  at: number;
  bytes: number;
  rows: number;
  optional: boolean;
  /** bytes of a value of fixed length */
  typeBytes: number;
}

/** Values of one page; `entries` says which value each present row has, null = one after the other. */
export interface Page {
  rows: number;
  /** 1 where a row has a value, null where all have */
  present: Uint32Array | null;
  values: Values;
  entries: Uint32Array | null;
}

/** Bytes that pages of a file became so far; a file may not grow beyond what it can hold. */
export interface Unpacked {
  bytes: number;
}

/**
 * Pages of a column chunk, in order.
 *
 * @throws {InputError} 1: a page that is cut, damaged, or holds more rows than its row group
 */
export function* readPages(source: ByteSource, chunk: Chunk, unpacked: Unpacked): Generator<Page> {
  const bytes = source.read(chunk.at, chunk.bytes);
  let dictionary: Values | null = null;
  let rows = 0;
  for (let at = 0; at < bytes.length && rows < chunk.rows; ) {
    const place = `a page of column "${chunk.column}" at byte ${chunk.at + at}`;
    const opened = openHeader(bytes, at);
    if (opened === null) throw damaged(source.file, `${place} is damaged`);
    const {header, bodyAt} = opened;
    const {compressed_page_size: packedBytes, uncompressed_page_size: plainBytes} = header;
    at = bodyAt + (isCount(packedBytes) ? packedBytes : Number.NaN);
    if (!(at <= bytes.length && isCount(plainBytes))) {
      throw damaged(source.file, `${place} goes beyond the end of its column`);
    }
    unpacked.bytes += plainBytes;
    requirePossibleSize(source, unpacked.bytes, `${place} and those before it`);
    try {
      const body = bytes.subarray(bodyAt, at);
      if (header.type === "DICTIONARY_PAGE") dictionary = readDictionary(chunk, header, body);
      else if (header.type === "DATA_PAGE" || header.type === "DATA_PAGE_V2") {
        const page = readData(chunk, header, body, dictionary, chunk.rows - rows);
        rows += page.rows;
        yield page;
      }
    } catch (error) {
      if (!(error instanceof PageError)) throw error;
      throw damaged(source.file, `${place} is damaged (${error.message})`);
    }
  }
  if (rows < chunk.rows) {
    throw damaged(
      source.file,
      `column "${chunk.column}" ends after ${rows} rows of a group of ${chunk.rows}`,
    );
  }
}

/** Hostile headers hold other things where numbers should be. */
function isCount(value: unknown): value is number {
  return Number.isInteger(value) && (value as number) >= 0;
}

function openHeader(bytes: Uint8Array, at: number): {header: PageHeader; bodyAt: number} | null {
  const walked = walkThrift(bytes, at);
  if (walked === null) return null;
  try {
    const header = parquetHeader({
      view: new DataView(bytes.buffer, bytes.byteOffset, walked.end),
      offset: at,
    });
    return {header, bodyAt: walked.end};
  } catch {
    return null;
  }
}

function unpack(chunk: Chunk, body: Uint8Array, plainBytes: number): Uint8Array {
  const plain = decompress(body, chunk.meta.codec, plainBytes);
  if (plain === null) throw new PageError(`no ${plainBytes} bytes come out of ${chunk.meta.codec}`);
  return plain;
}

function readDictionary(chunk: Chunk, header: PageHeader, body: Uint8Array): Values {
  const count = header.dictionary_page_header?.num_values ?? 0;
  const plain = unpack(chunk, body, header.uncompressed_page_size);
  // an entry has a byte at least, but for empty ones of a bit each
  if (!(isCount(count) && count <= 8 * plain.length)) throw new PageError(`a dictionary of ${count} entries`);
  return plainValues(plain, chunk.meta.type, count, chunk.typeBytes);
}

function readData(
  chunk: Chunk,
  header: PageHeader,
  body: Uint8Array,
  dictionary: Values | null,
  rowsLeft: number,
): Page {
  const v1 = header.data_page_header;
  const v2 = header.data_page_header_v2;
  const rows = v1?.num_values ?? v2?.num_values ?? -1;
  if (!(isCount(rows) && rows <= rowsLeft)) throw new PageError(`${rows} rows of ${rowsLeft} that are left`);
  const {present, encoded} = v2 ? splitV2(chunk, header, body, rows) : splitV1(chunk, header, body, rows);
  let count = rows;
  if (present) {
    count = 0;
    for (const one of present) count += one;
  }
  const encoding = v2?.encoding ?? v1!.encoding;
  if (encoding === "PLAIN_DICTIONARY" || encoding === "RLE_DICTIONARY") {
    if (count === 0) return {rows, present, values: new Float64Array(0), entries: null};
    if (dictionary === null) throw new PageError("its dictionary is missing");
    if (encoded.length === 0) throw new PageError("no data");
    const entries = hybridValues(encoded.subarray(1), encoded[0], count);
    for (const entry of entries) if (entry >= dictionary.length) throw new PageError(`no entry ${entry}`);
    return {rows, present, values: dictionary, entries};
  }
  return {rows, present, values: decode(chunk, encoding, encoded, count), entries: null};
}

/** Levels with their length before them, all of it compressed. */
function splitV1(chunk: Chunk, header: PageHeader, body: Uint8Array, rows: number) {
  const plain = unpack(chunk, body, header.uncompressed_page_size);
  if (!chunk.optional) return {present: null, encoded: plain};
  if (header.data_page_header!.definition_level_encoding !== "RLE") {
    throw new PageError(`levels encoded as ${header.data_page_header!.definition_level_encoding}`);
  }
  if (plain.length < 4) throw new PageError("no levels");
  const end = 4 + new DataView(plain.buffer, plain.byteOffset).getUint32(0, true);
  if (end > plain.length) throw new PageError(`levels of ${end} bytes`);
  return {present: hybridValues(plain.subarray(4, end), 1, rows), encoded: plain.subarray(end)};
}

/** Levels first and never compressed, their lengths in the header. */
function splitV2(chunk: Chunk, header: PageHeader, body: Uint8Array, rows: number) {
  const v2 = header.data_page_header_v2!;
  const repetition = v2.repetition_levels_byte_length;
  const definition = v2.definition_levels_byte_length;
  const start = repetition + definition;
  if (
    !(repetition >= 0 && definition >= 0 && start <= Math.min(body.length, header.uncompressed_page_size))
  ) {
    throw new PageError(`levels of ${start} bytes`);
  }
  const present = chunk.optional ? hybridValues(body.subarray(repetition, start), 1, rows) : null;
  const packed = body.subarray(start);
  const plainBytes = header.uncompressed_page_size - start;
  return {present, encoded: v2.is_compressed === false ? packed : unpack(chunk, packed, plainBytes)};
}

function decode({meta, typeBytes}: Chunk, encoding: Encoding, bytes: Uint8Array, count: number): Values {
  const {type} = meta;
  if (count === 0) return new Float64Array(0);
  if (encoding === "PLAIN") return plainValues(bytes, type, count, typeBytes);
  if (encoding === "BYTE_STREAM_SPLIT") return splitValues(bytes, type, count, typeBytes);
  if (encoding === "RLE" && type === "BOOLEAN") {
    return Float64Array.from(hybridValues(bytes.subarray(4), 1, count)); // behind its length
  }
  if (encoding === "DELTA_BINARY_PACKED" && (type === "INT32" || type === "INT64")) {
    return deltaValues(bytes, type, count).values;
  }
  if (isBytes(type) && (encoding === "DELTA_LENGTH_BYTE_ARRAY" || encoding === "DELTA_BYTE_ARRAY")) {
    return deltaArrays(bytes, count, encoding === "DELTA_BYTE_ARRAY");
  }
  throw new PageError(`${type} encoded as ${encoding}`);
}

function isBytes(type: ParquetType): boolean {
  return type === "BYTE_ARRAY" || type === "FIXED_LEN_BYTE_ARRAY";
}
