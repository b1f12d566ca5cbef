import {type FileMetaData, parquetSchema, type RowGroup, type SchemaTree} from "hyparquet";
import type {Unread} from "../result/log.ts";
import {damaged} from "./damaged.ts";
import {requirePossibleSize} from "./decoded-size.ts";
import {columnBuilder} from "./parquet/column.ts";
import {columnType} from "./parquet/column-type.ts";
import {isKnownCodec} from "./parquet/decompress.ts";
import {ENCRYPTED_MAGIC, MAGIC, magicOf, readFooter} from "./parquet/footer.ts";
import {type Chunk, ENCODINGS, readPages, type Unpacked} from "./parquet/pages.ts";
import type {LogReader, RawColumn, RawTable} from "./reader.ts";
import type {ByteSource} from "./source.ts";
import {cleanText} from "./text.ts";

/** Apache Parquet: flat columns of all row groups. */
export const parquet: LogReader = {
  format: "Parquet",
  probe: head => ([MAGIC, ENCRYPTED_MAGIC].includes(magicOf(head)) ? 1 : 0),
  read: readParquet,
};

function readParquet(source: ByteSource): RawTable {
  const {file} = source;
  const footer = readFooter(source);
  const leaves = topLeaves(source, footer);
  const rows = rowsOf(file, footer);
  requirePossibleSize(source, rows * leaves.length * 8, `${rows} rows of ${leaves.length} columns`);
  requireSeparateChunks(source, footer);
  const unread: Unread = {rows: [], columns: []};
  const columns: RawColumn[] = [];
  const unpacked: Unpacked = {bytes: 0};
  for (const leaf of leaves) {
    const read = readColumn(source, footer.row_groups, leaf, rows, unpacked);
    const header = cleanText(leaf.tree.element.name ?? "");
    if ("reason" in read) unread.columns.push({name: header, reason: read.reason});
    else {
      const number = columns.length + 1;
      columns.push({number, header: header || `column ${number}`, unit: null, source: null, ...read});
    }
  }
  if (columns.length === 0) {
    const reasons = unread.columns.map(({name, reason}) => `"${name}": ${reason}`).join(", ");
    throw damaged(
      file,
      `no column can be read: ${reasons || "there is none"}`,
      "export the log as a flat table",
    );
  }
  return {format: "Parquet", columns, rows, lineOf: row => row + 1, unread, guesses: []};
}

/** A column of the table, with the place of its first leaf among all leaves, in whose order row groups list their parts. */
interface Leaf {
  tree: SchemaTree;
  index: number;
}

function topLeaves({file}: ByteSource, footer: FileMetaData): Leaf[] {
  try {
    let index = 0;
    return parquetSchema(footer).children.map(tree => {
      const leaf = {tree, index};
      index += leafCount(tree);
      return leaf;
    });
  } catch {
    throw damaged(file, "the footer does not describe its columns");
  }
}

function leafCount({children}: SchemaTree): number {
  return children.length === 0 ? 1 : children.reduce((count, child) => count + leafCount(child), 0);
}

function rowsOf(file: string, {num_rows, row_groups}: FileMetaData): number {
  const rows = row_groups.reduce((sum, group) => sum + Number(group.num_rows), 0);
  const negative = row_groups.some(group => !(group.num_rows >= 0n));
  if (negative || rows !== Number(num_rows)) {
    throw damaged(file, `the footer says ${num_rows} rows, its row groups have ${rows}`);
  }
  if (rows === 0)
    throw damaged(file, "the table has no rows", "record again, or export the log with its data");
  return rows;
}

/** Parts of columns cannot be larger than the file: else the same bytes would be read over and over. */
function requireSeparateChunks({file, size}: ByteSource, footer: FileMetaData): void {
  let total = 0;
  for (const {columns} of footer.row_groups) {
    for (const {meta_data} of columns) total += Math.max(0, Number(meta_data?.total_compressed_size ?? 0));
  }
  if (!(total <= size))
    throw damaged(file, `its columns should have ${total} bytes, the whole file has ${size}`);
}

function readColumn(
  source: ByteSource,
  groups: RowGroup[],
  leaf: Leaf,
  rows: number,
  unpacked: Unpacked,
): Pick<RawColumn, "kind" | "values" | "zero" | "labels"> | {reason: string} {
  const {element, children} = leaf.tree;
  if (children.length > 0 || element.num_children) return {reason: "it is nested: it has columns inside"};
  if (element.repetition_type === "REPEATED") return {reason: "it is a list of values in each row"};
  const type = columnType(element);
  if (type.as === "none") return type;
  const chunks: Chunk[] = [];
  for (const group of groups) {
    const chunk = chunkOf(source, group, leaf);
    if ("reason" in chunk) return chunk;
    chunks.push(chunk);
  }
  const builder = columnBuilder(type, rows);
  for (const chunk of chunks) for (const page of readPages(source, chunk, unpacked)) builder.add(page);
  return builder.finish();
}

function chunkOf({file, size}: ByteSource, group: RowGroup, {tree, index}: Leaf): Chunk | {reason: string} {
  const {element} = tree;
  const chunk = group.columns[index];
  const name = `column "${element.name}"`;
  if (chunk?.crypto_metadata || chunk?.encrypted_column_metadata) return {reason: "it is encrypted"};
  if (chunk?.file_path) return {reason: `its values are in another file, ${chunk.file_path}`};
  const meta = chunk?.meta_data;
  if (!meta || meta.type !== element.type || meta.path_in_schema.join("\0") !== tree.path.join("\0")) {
    throw damaged(file, `a row group does not hold ${name} where the schema has it`);
  }
  if (!isKnownCodec(meta.codec)) return {reason: `it is compressed by ${meta.codec ?? "an unknown method"}`};
  const encoding = meta.encodings?.find(used => used !== "BIT_PACKED" && !ENCODINGS.includes(used));
  if (encoding !== undefined) return {reason: `it is encoded by ${encoding}`};
  const dictionaryAt = Number(meta.dictionary_page_offset ?? 0n);
  const dataAt = Number(meta.data_page_offset);
  const at = dictionaryAt > 0 ? Math.min(dictionaryAt, dataAt) : dataAt;
  const bytes = Number(meta.total_compressed_size);
  if (!(at >= MAGIC.length && bytes >= 0 && at + bytes <= size)) {
    throw damaged(file, `${name} should be at byte ${at} with ${bytes} bytes, the file has ${size}`);
  }
  return {
    column: element.name,
    meta,
    at,
    bytes,
    rows: Number(group.num_rows),
    optional: element.repetition_type !== "REQUIRED",
    typeBytes: Number(element.type_length ?? 0),
  };
}
