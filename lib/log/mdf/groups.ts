import {damaged} from "../damaged.ts";
import {type Block, type Blocks, uint64, visit} from "./block.ts";

/** One channel as its CN block describes it. */
export interface MdfChannel {
  name: string;
  /** unit of the channel itself; that of its conversion counts where there is none */
  unit: string | null;
  /** name of what it comes from, or null */
  source: string | null;
  type: number;
  syncType: number;
  dataType: number;
  bitOffset: number;
  byteOffset: number;
  bitCount: number;
  allInvalid: boolean;
  /** number of its invalidation bit in the record, or null */
  invalidBit: number | null;
  /** place of its CC block, 0 = none */
  conversionAt: number;
  /** false for parts of a record that hold several values (an array) */
  single: boolean;
}

/** One channel group: records of one kind. */
export interface MdfGroup {
  name: string;
  /** place among the groups of the file, counted from 1 */
  number: number;
  /** records that the group says it has */
  records: number;
  recordId: number;
  dataBytes: number;
  invalidBytes: number;
  /** records are of variable length: values of a channel of another group */
  variable: boolean;
  /** records are frames of a bus, not yet values */
  busFrames: boolean;
  /** its time is in another group */
  remoteMaster: boolean;
  channels: MdfChannel[];
  /** the data group that holds its records */
  data: MdfData;
}

/** One data group: where its records are, and of which groups. */
export interface MdfData {
  at: number;
  /** bytes of the record id before every record; 0 = records of one group only */
  idBytes: number;
  groups: MdfGroup[];
}

const CHANNEL_TYPE_FLAG = {allInvalid: 1, invalidBit: 2};
const GROUP_FLAG = {variable: 1, busEvent: 2, plainBusEvent: 4, remoteMaster: 8};

/** Every channel group of the file, in the order of the file. */
export function readGroups(blocks: Blocks, firstDataGroup: number): MdfGroup[] {
  const groups: MdfGroup[] = [];
  const seen = new Set<number>();
  for (let at = firstDataGroup; at !== 0; ) {
    const block = visit(blocks, seen, at, ["DG"]);
    const [next, firstGroup, dataAt] = linksOf(blocks, block, 4);
    const data: MdfData = {at: dataAt, idBytes: blocks.body(block, 8).getUint8(0), groups: []};
    if (![0, 1, 2, 4, 8].includes(data.idBytes)) {
      throw damaged(blocks.source.file, `the DG block at byte ${at} has record ids of ${data.idBytes} bytes`);
    }
    for (let groupAt = firstGroup; groupAt !== 0; ) {
      const groupBlock = visit(blocks, seen, groupAt, ["CG"]);
      const group = readGroup(blocks, groupBlock, seen, data, groups.length + 1);
      data.groups.push(group);
      groups.push(group);
      groupAt = groupBlock.links[0];
    }
    at = next;
  }
  return groups;
}

function readGroup(blocks: Blocks, block: Block, seen: Set<number>, data: MdfData, number: number): MdfGroup {
  const [, firstChannel, nameAt, sourceAt] = linksOf(blocks, block, 6);
  const view = blocks.body(block, 32);
  const flags = view.getUint16(16, true);
  const channels: MdfChannel[] = [];
  const source = sourceName(blocks, sourceAt);
  readChannels(blocks, firstChannel, seen, source, channels);
  return {
    name: blocks.text(nameAt) ?? source ?? `group ${number}`,
    number,
    records: uint64(view, 8),
    recordId: uint64(view, 0),
    dataBytes: view.getUint32(24, true),
    invalidBytes: view.getUint32(28, true),
    variable: (flags & GROUP_FLAG.variable) !== 0,
    busFrames: (flags & (GROUP_FLAG.busEvent | GROUP_FLAG.plainBusEvent)) !== 0,
    remoteMaster: (flags & GROUP_FLAG.remoteMaster) !== 0,
    channels,
    data,
  };
}

/** Channels of a list and, behind a channel that is made of others, its parts. */
function readChannels(
  blocks: Blocks,
  first: number,
  seen: Set<number>,
  groupSource: string | null,
  channels: MdfChannel[],
): void {
  const open = [first]; // lists still to be read; a stack, so that no nesting is too deep
  for (let at = open.pop(); at !== undefined; at = open.pop()) {
    if (at === 0) continue;
    const block = visit(blocks, seen, at, ["CN"]);
    const [next, parts, nameAt, sourceAt, conversionAt, , unitAt] = linksOf(blocks, block, 8);
    const array = parts !== 0 && blocks.open(parts, ["CN", "CA"]).id === "CA";
    const view = blocks.body(block, 24);
    const flags = view.getUint32(12, true);
    channels.push({
      name: blocks.text(nameAt) ?? `channel ${channels.length + 1}`,
      unit: blocks.text(unitAt),
      source: sourceName(blocks, sourceAt) ?? groupSource,
      type: view.getUint8(0),
      syncType: view.getUint8(1),
      dataType: view.getUint8(2),
      bitOffset: view.getUint8(3),
      byteOffset: view.getUint32(4, true),
      bitCount: view.getUint32(8, true),
      allInvalid: (flags & CHANNEL_TYPE_FLAG.allInvalid) !== 0,
      invalidBit: flags & CHANNEL_TYPE_FLAG.invalidBit ? view.getUint32(16, true) : null,
      conversionAt,
      single: !array,
    });
    open.push(next);
    if (parts !== 0 && !array) open.push(parts);
  }
}

function sourceName(blocks: Blocks, at: number): string | null {
  if (at === 0) return null;
  const [nameAt, pathAt] = linksOf(blocks, blocks.open(at, ["SI"]), 3);
  return blocks.text(nameAt) ?? blocks.text(pathAt);
}

/** Links of a block that has at least `least` of them. */
export function linksOf(blocks: Blocks, block: Block, least: number): number[] {
  if (block.links.length >= least) return block.links;
  throw damaged(
    blocks.source.file,
    `the ${block.id} block at byte ${block.at} has ${block.links.length} links, ${least} are needed`,
  );
}
