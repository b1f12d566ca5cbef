import {deflateSync} from "node:zlib";
import {z} from "zod";
import {hasTag, type MimeBundle, type Notebook, type Output} from "../notebook/notebook.ts";
import type {TestReport} from "../result/test-report.ts";
import {RESULT_MIME} from "./card.ts";
import {PLOTLY_MIME} from "./figure.ts";
import {base64} from "./html.ts";
import {TABLE_MIME} from "./table.ts";

/** All that a page is made of. The page carries it, so that a stranger can make the page again and compare. */
export interface PageRecord {
  format: "fairpull.page/1";
  /** name of the notebook's file, without its folder */
  file: string;
  /** without outputs */
  notebook: Notebook;
  /** of the code cells in order: what the page shows of them */
  outputs: Output[][];
  /** false = the outputs were in the notebook already and nothing was run for this page */
  wasRun: boolean;
  /** files that were read, named from the notebook's folder */
  inputs: {file: string; sha256: string}[];
  /** the session file of the result, named from the notebook's folder; null where there is none or it is not there */
  session: {file: string; text: string} | null;
  /** null where there is no session */
  report: TestReport | null;
  /** pictures that texts show: address as written → SHA-256 */
  pictures: Record<string, string>;
  versions: Record<string, string>;
  /** the page's own time, as the option gave it, or null */
  publishedAt: string | null;
  /** logs that the page carries, named from the session's folder, in the order in which they lie in the data block */
  data: {file: string; size: number; sha256: string}[];
}

/** Names of the blocks of a page that hold its record and its logs. */
export const RECORD_ID = "fairpull-record";
export const DATA_ID = "fairpull-data";

const BEST = 9;

/** A record as a data block of a page, compressed. */
export function recordBlock(record: PageRecord): string {
  return dataBlock(RECORD_ID, Buffer.from(JSON.stringify(record)));
}

/** Bytes as a data block of a page, compressed: a block of a type that no browser runs. */
export function dataBlock(id: string, bytes: Uint8Array): string {
  return `<script type="text/plain" id="${id}" data-size="${bytes.length}">${base64(deflateSync(bytes, {level: BEST}))}</script>`;
}

/** Pictures that a page shows as they are, best first. */
export const PICTURE_TYPES = ["image/png", "image/jpeg", "image/gif", "image/svg+xml"];

/** What of a bundle a page shows; the rest need not be kept. */
export function shownOf(output: Output): Output {
  if (!("data" in output)) return output;
  const {data} = output;
  const richest =
    [PLOTLY_MIME, TABLE_MIME, RESULT_MIME, "text/markdown", "text/html", ...PICTURE_TYPES, "text/latex"].find(
      type => type in data,
    ) ?? "text/plain";
  const kept: MimeBundle = {};
  const wanted = richest === RESULT_MIME ? [RESULT_MIME, "text/html"] : [richest];
  const needsWords = richest === "text/plain" || PICTURE_TYPES.includes(richest) || richest === RESULT_MIME;
  for (const type of needsWords ? [...wanted, "text/plain"] : wanted)
    if (type in data) kept[type] = data[type];
  // JSON alone survives the way into the page: what it cannot say is dropped here, before anything is drawn
  return JSON.parse(JSON.stringify({...output, data: Object.keys(kept).length ? kept : data})) as Output;
}

/** True if the page shows the outputs of this cell alone, not its code. */
export function isProse(cell: Notebook["cells"][number]): boolean {
  return hasTag(cell, "prose");
}

const hash = z.string().regex(/^[0-9a-f]{64}$/);
const json = z.record(z.string(), z.unknown());
const output = z.union([
  z.object({output_type: z.literal("stream"), name: z.enum(["stdout", "stderr"]), text: z.string()}),
  z.object({output_type: z.literal("display_data"), data: json, metadata: json}),
  z.object({
    output_type: z.literal("execute_result"),
    data: json,
    metadata: json,
    execution_count: z.number().nullable(),
  }),
  z.object({
    output_type: z.literal("error"),
    ename: z.string(),
    evalue: z.string(),
    traceback: z.array(z.string()),
  }),
]);

/** What a record must be before anything believes it; the notebook in it is checked by `parseNotebook`. */
export const recordSchema = z.object({
  format: z.literal("fairpull.page/1"),
  file: z.string().min(1),
  notebook: json,
  outputs: z.array(z.array(output)),
  wasRun: z.boolean(),
  inputs: z.array(z.object({file: z.string(), sha256: hash})),
  session: z.object({file: z.string(), text: z.string()}).nullable(),
  report: z.record(z.string(), z.unknown()).nullable(),
  pictures: z.record(z.string(), hash),
  versions: z.record(z.string(), z.string()),
  publishedAt: z.string().nullable(),
  data: z.array(z.object({file: z.string(), size: z.int().min(0), sha256: hash})),
});
