import {inflateSync} from "node:zlib";
import {parseNotebook} from "../notebook/read.ts";
import {InputError} from "../result/error.ts";
import {requireResult} from "./collect.ts";
import {DATA_ID, type PageRecord, RECORD_ID, recordSchema} from "./record.ts";

/** The largest block that is unpacked [bytes]: eight times what a page may carry, and little beside a computer's memory. */
const MAX_BLOCK_BYTES = 256 << 20;

/**
 * The record that a page carries, checked.
 *
 * @param file name of the page, for messages
 * @throws {InputError} exit code 1: it carries none, two, or one that is not what it should be
 */
export function readRecord(html: string, file: string): PageRecord {
  const bytes = readBlock(html, RECORD_ID, file);
  if (bytes === null) {
    throw broken(
      file,
      "the page carries no record to compute again from",
      "give a page written by fairpull publish",
    );
  }
  let json: unknown;
  try {
    json = JSON.parse(bytes.toString("utf8"));
  } catch {
    throw broken(file, "the record of the page is not JSON", "get the page again from where it comes");
  }
  const parsed = recordSchema.safeParse(json);
  if (!parsed.success) {
    const {path, message} = parsed.error.issues[0]!;
    throw broken(
      file,
      `the record of the page is malformed (${path.join(".")}: ${message})`,
      "get the page again",
    );
  }
  const record = json as PageRecord; // as it was written: what a later version adds stays in
  requireResult(record.outputs, file);
  return {...record, notebook: parseNotebook(JSON.stringify(record.notebook), `${file}, embedded notebook`)};
}

/**
 * The logs that a page carries, by name; empty where it carries none.
 *
 * @throws {InputError} exit code 1: what is there does not have the size that the record says
 */
export function readData({data}: PageRecord, html: string, file: string): Map<string, Buffer> {
  const bytes = readBlock(html, DATA_ID, file) ?? Buffer.alloc(0);
  const size = data.reduce((sum, entry) => sum + entry.size, 0);
  if (bytes.length !== size) {
    throw broken(
      file,
      `the page's logs have ${bytes.length} bytes, its record says ${size}`,
      "get the page again",
    );
  }
  const logs = new Map<string, Buffer>();
  let at = 0;
  for (const entry of data) {
    logs.set(entry.file, bytes.subarray(at, at + entry.size));
    at += entry.size;
  }
  return logs;
}

/** The content of a block. Its size is declared before it, and no more than that is ever unpacked. */
function readBlock(html: string, id: string, file: string): Buffer | null {
  const blocks = [
    ...html.matchAll(
      new RegExp(
        `<script type="text/plain" id="${id}" data-size="(\\d{1,12})">([A-Za-z0-9+/=]*)</script>`,
        "g",
      ),
    ),
  ];
  if (blocks.length === 0) return null;
  if (blocks.length > 1) throw broken(file, `the page carries the block ${id} twice`, "get the page again");
  const size = Number(blocks[0]![1]);
  if (size > MAX_BLOCK_BYTES) {
    throw broken(
      file,
      `the block ${id} of the page would unpack to ${size} bytes, more than ${MAX_BLOCK_BYTES}`,
      "do not trust this page",
    );
  }
  try {
    const bytes = inflateSync(Buffer.from(blocks[0]![2]!, "base64"), {maxOutputLength: Math.max(size, 1)});
    if (bytes.length === size) return bytes;
  } catch {
    // told below: larger than declared, or no such archive
  }
  throw broken(
    file,
    `the block ${id} of the page does not unpack to the ${size} bytes it says`,
    "get the page again",
  );
}

function broken(file: string, words: string, hint: string): InputError {
  return new InputError(1, {code: "page-unreadable", file, words, hint});
}
