import {InputError} from "../result/error.ts";
import type {Unread} from "../result/log.ts";
import {damaged} from "./damaged.ts";
import {requirePossibleSize} from "./decoded-size.ts";
import {type Block, type Blocks, openBlocks, viewOf} from "./mdf/block.ts";
import {chooseGroup} from "./mdf/choose-group.ts";
import {type ColumnBuilder, columnBuilder, isTimeMaster} from "./mdf/column.ts";
import {openConversions} from "./mdf/conversion.ts";
import {linksOf, type MdfChannel, type MdfGroup, readGroups} from "./mdf/groups.ts";
import {openRecords} from "./mdf/records.ts";
import type {LogReader, RawTable, ReadOptions} from "./reader.ts";
import type {ByteSource} from "./source.ts";

const ID_BYTES = 64;
const FINISHED = "MDF     ";
const UNFINISHED = "UnFinMF ";
/** Versions that share the layout read here; 4.20 adds blocks that are refused one by one. */
const VERSIONS = [400, 420];

/** ASAM MDF 4.00 to 4.20, finalised files: one channel group becomes a table. */
export const mdf: LogReader = {
  format: "MDF 4",
  probe(head) {
    const id = signature(head);
    return id === FINISHED || id === UNFINISHED ? 1 : 0;
  },
  read: readMdf,
};

function signature(head: Uint8Array): string {
  return String.fromCharCode(...head.subarray(0, 8));
}

/** A table whose file says when its elapsed time began. */
export interface MdfTable extends RawTable {
  /** seconds since 1970-01-01 UTC (local time taken as UTC where the file has no zone) at time 0, or null */
  clockZeroS: number | null;
}

function readMdf(source: ByteSource, options: ReadOptions): MdfTable {
  const {file} = source;
  requireReadable(source);
  const blocks = openBlocks(source);
  const header = blocks.open(ID_BYTES, ["HD"]);
  const groups = readGroups(blocks, linksOf(blocks, header, 6)[0]);
  const {group, guesses} = chooseGroup(file, groups, options.group);
  if (group.remoteMaster) {
    throw new InputError(1, {
      code: "log-unreadable",
      words: `the time of the group "${group.name}" is kept in another group`,
      file,
      hint: "export the log as MDF 4.10",
    });
  }
  const records = openRecords(blocks, group);
  requirePossibleSize(
    source,
    records.most * group.channels.length * 8,
    `${records.most} records of ${group.channels.length} channels`,
  );
  const unread: Unread = {rows: [], columns: []};
  const builders = openColumns(blocks, group, records.most, unread);
  const walked = records.walk((view, at, stride, count) => {
    for (const {take} of builders) take(view, at, stride, count);
  });
  const rows = walked.records;
  if (group.dataBytes + group.invalidBytes + group.data.idBytes === 0) {
    for (const {take} of builders) take(NO_RECORD, 0, 0, rows); // virtual channels only
  }
  if (rows === 0)
    throw damaged(
      file,
      `the group "${group.name}" has no records`,
      "choose another with --group, or record again",
    );
  const columns = builders.map(builder => {
    const {column, unread: texts} = builder.finish(rows);
    unread.rows.push(...texts);
    return column;
  });
  if (columns.length === 0)
    throw damaged(file, `no channel of the group "${group.name}" can be read: ${reasonsOf(unread)}`);
  const told: [count: number, reason: string][] = [
    [group.records - rows, "the group announces more records than the file holds"],
    [walked.surplus, "the file holds more records than the group announces"],
    [walked.variable, "values of varying length, kept apart from the records"],
  ];
  for (const [count, reason] of told) if (count > 0) unread.rows.push({reason, count, first_line: rows + 1});
  return {
    format: "MDF 4",
    columns,
    rows,
    lineOf: row => row + 1,
    unread,
    guesses,
    clockZeroS: startOf(blocks, header),
  };
}

/** Start of the recording in seconds since 1970-01-01, or null where the file gives none. */
function startOf(blocks: Blocks, header: Block): number | null {
  // Whether it is UTC or (flag 1) local time without zone, it is taken as UTC, as everywhere.
  const ns = blocks.body(header, 8).getBigUint64(0, true);
  return ns === 0n ? null : Number(ns / NS_PER_S) + Number(ns % NS_PER_S) / 1e9;
}

const NS_PER_S = 1_000_000_000n;
const NO_RECORD = new DataView(new ArrayBuffer(0));

function requireReadable(source: ByteSource): void {
  const {file} = source;
  const head = source.read(0, ID_BYTES);
  if (head.length < ID_BYTES)
    throw damaged(file, `the file has ${head.length} bytes, less than the head of an MDF file`);
  if (signature(head) === UNFINISHED) {
    throw new InputError(1, {
      code: "unfinalised",
      words:
        "this MDF file was never finalised: its recorder stopped before it wrote the lengths and counts of its blocks",
      file,
      hint: "let the recorder's own software finalise it (a raw bus log needs decoding as well), then give the result",
    });
  }
  const version = viewOf(head).getUint16(28, true);
  if (version < VERSIONS[0] || version > VERSIONS[1]) {
    throw new InputError(1, {
      code: "log-unreadable",
      words: `this is MDF version ${version / 100}; versions 4.00 to 4.20 are read`,
      file,
      hint: "export the log as MDF 4.10",
    });
  }
}

/** Builders of the channels that are read; the others go to `unread` with the reason. */
function openColumns(blocks: Blocks, group: MdfGroup, most: number, unread: Unread): ColumnBuilder[] {
  const findConversion = openConversions(blocks);
  const builders: ColumnBuilder[] = [];
  for (const channel of timeFirst(group.channels)) {
    const builder = columnBuilder(findConversion, channel, group, builders.length + 1, most);
    if ("reason" in builder) unread.columns.push({name: channel.name, reason: builder.reason});
    else builders.push(builder);
  }
  return builders;
}

function timeFirst(channels: MdfChannel[]): MdfChannel[] {
  return [...channels.filter(isTimeMaster), ...channels.filter(channel => !isTimeMaster(channel))];
}

function reasonsOf({columns}: Unread): string {
  return columns.map(({name, reason}) => `"${name}": ${reason}`).join(", ") || "it has none";
}
