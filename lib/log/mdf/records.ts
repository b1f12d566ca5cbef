import {damaged} from "../damaged.ts";
import {type Blocks, uint64, viewOf} from "./block.ts";
import {dataExtents, dataPieces, plainBytes} from "./data.ts";
import type {MdfGroup} from "./groups.ts";

/** Takes `count` records of `stride` bytes that stand one behind the other in `view` from byte `at`. */
export type TakeRecords = (view: DataView, at: number, stride: number, count: number) => void;

/** Records of one group, ready to be walked through. */
export interface Records {
  /** no more records than this; computed from the size of the data, so memory can be set aside for them */
  most: number;
  /** @returns numbers of records and of records of variable length that belong to other channels */
  walk(take: TakeRecords): {records: number; surplus: number; variable: number};
}

/** Finds the records of a group, alone in their data group or mixed with others'. */
export function openRecords(blocks: Blocks, group: MdfGroup): Records {
  const {idBytes} = group.data;
  const extents = dataExtents(blocks, group.data.at);
  const total = plainBytes(blocks, extents);
  const recordBytes = group.dataBytes + group.invalidBytes;
  const {file} = blocks.source;
  if (idBytes === 0 && group.data.groups.length > 1) {
    throw damaged(
      file,
      `the group "${group.name}" shares its records with others, but the records have no ids`,
    );
  }
  const room = recordBytes + idBytes === 0 ? group.records : Math.floor(total / (recordBytes + idBytes));
  const most = Math.min(group.records, room);
  const pieces = () => dataPieces(blocks, extents);
  return {
    most,
    walk(take) {
      if (recordBytes + idBytes === 0) return {records: most, surplus: 0, variable: 0};
      if (most === 0) return {records: 0, surplus: idBytes === 0 ? room : 0, variable: 0};
      if (idBytes > 0) return walkMixed(file, pieces(), group, recordBytes, most, take);
      walkSorted(pieces(), recordBytes, most, take);
      return {records: most, surplus: room - most, variable: 0};
    },
  };
}

function walkSorted(pieces: Iterable<Uint8Array>, bytes: number, most: number, take: TakeRecords): void {
  const carry = new Uint8Array(bytes); // a record that is cut by the end of a piece
  let have = 0;
  let left = most;
  for (const piece of pieces) {
    let at = 0;
    if (have > 0) {
      at = Math.min(bytes - have, piece.length);
      carry.set(piece.subarray(0, at), have);
      have += at;
      if (have < bytes) continue;
      take(viewOf(carry), 0, bytes, 1);
      left--;
    }
    const count = Math.min(left, Math.floor((piece.length - at) / bytes));
    if (count > 0) take(viewOf(piece), at, bytes, count);
    left -= count;
    if (left === 0) return;
    const rest = piece.subarray(at + count * bytes);
    carry.set(rest);
    have = rest.length;
  }
}

function walkMixed(
  file: string,
  pieces: Iterable<Uint8Array>,
  group: MdfGroup,
  recordBytes: number,
  most: number,
  take: TakeRecords,
): {records: number; surplus: number; variable: number} {
  const {idBytes, groups} = group.data;
  const byId = new Map(groups.map(other => [other.recordId, other]));
  const counts = {records: 0, surplus: 0, variable: 0};
  const head = new Uint8Array(idBytes + 4); // id and, of variable records, their length, where a piece ends in them
  const record = new Uint8Array(recordBytes);
  let headHave = 0;
  let recordHave = 0;
  let inRecord = false;
  let skip = 0;
  for (const piece of pieces) {
    const view = viewOf(piece);
    let at = 0;
    while (at < piece.length) {
      if (skip > 0) {
        const step = Math.min(skip, piece.length - at);
        skip -= step;
        at += step;
      } else if (inRecord) {
        const whole = recordHave === 0 && at + recordBytes <= piece.length;
        const step = Math.min(recordBytes - recordHave, piece.length - at);
        if (!whole) record.set(piece.subarray(at, at + step), recordHave);
        recordHave += step;
        if (recordHave === recordBytes) {
          if (whole) keep(view, at);
          else keep(viewOf(record), 0);
          inRecord = false;
        }
        at += step;
      } else {
        head[headHave++] = piece[at++];
        if (headHave < idBytes) continue;
        const next = byId.get(recordIdOf(head, idBytes));
        if (next === undefined) {
          throw damaged(file, `a record has the id ${recordIdOf(head, idBytes)}, which no group has`);
        }
        if (next.variable) {
          if (headHave < idBytes + 4) continue;
          skip = viewOf(head).getUint32(idBytes, true);
          counts.variable++;
        } else if (next === group) {
          inRecord = recordBytes > 0;
          recordHave = 0;
          if (!inRecord) keep(view, at);
        } else skip = next.dataBytes + next.invalidBytes;
        headHave = 0;
      }
    }
  }
  return counts;

  function keep(view: DataView, at: number): void {
    if (counts.records === most) counts.surplus++;
    else {
      take(view, at, recordBytes, 1);
      counts.records++;
    }
  }
}

function recordIdOf(head: Uint8Array, bytes: number): number {
  const view = viewOf(head);
  if (bytes === 1) return view.getUint8(0);
  if (bytes === 2) return view.getUint16(0, true);
  return bytes === 4 ? view.getUint32(0, true) : uint64(view, 0);
}
