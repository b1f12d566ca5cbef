import type {Unread} from "../../result/log.ts";
import {columnMeaning} from "../column-name.ts";
import type {RawColumn} from "../reader.ts";
import type {Conversion, FindConversion} from "./conversion.ts";
import type {MdfChannel, MdfGroup} from "./groups.ts";
import type {TakeRecords} from "./records.ts";
import {type LongSample, type Sample, sampleOf} from "./sample.ts";

/** One channel while its records are read. */
export interface ColumnBuilder {
  /** takes further records */
  take: TakeRecords;
  /** the column of `rows` records, and texts that stood in place of numbers */
  finish(rows: number): {column: RawColumn; unread: Unread["rows"]};
}

/** Channels without place in the record: their raw value is the number of the record, counted from 0. */
const VIRTUAL = [3, 6];
const MASTER = [2, 3];
/** Units of masters by their kind of synchronisation; the format leaves no other. */
const MASTER_UNITS: Record<number, string> = {1: "s", 2: "rad", 3: "m"};

/** True for the channel that holds the time of its group's records. */
export function isTimeMaster(channel: MdfChannel): boolean {
  return MASTER.includes(channel.type) && channel.syncType === 1;
}

/**
 * Prepares to read a channel, or says why it is not read.
 *
 * @param number place of the column in the table, counted from 1
 * @param rows   records that there can be at most
 */
export function columnBuilder(
  findConversion: FindConversion,
  channel: MdfChannel,
  group: MdfGroup,
  number: number,
  rows: number,
): ColumnBuilder | {reason: string} {
  const virtual = VIRTUAL.includes(channel.type);
  const sample: Sample = virtual ? {kind: "number", whole: true, read: () => 0} : sampleOf(channel, group);
  if (sample.kind === "none") return sample;
  if (sample.kind === "text") {
    if (channel.conversionAt === 0) return textBuilder(channel, group, number, rows, sample.read, null);
    const rule = findConversion(channel.conversionAt, false);
    if ("reason" in rule) return rule;
    return textBuilder(channel, group, number, rows, sample.read, rule.unit);
  }
  const conversion = findConversion(channel.conversionAt, sample.kind === "long" || sample.whole);
  if ("reason" in conversion) return conversion;
  const read =
    sample.kind === "number"
      ? sample.read
      : (view: DataView, at: number) => Number((sample.read as LongSample)(view, at));
  if (conversion.makes === "text") {
    const text = (view: DataView, at: number) => conversion.convert(read(view, at)) as string | null;
    return textBuilder(channel, group, number, rows, text, conversion.unit);
  }
  if (sample.kind === "long" && conversion.line) {
    return longBuilder(channel, group, number, rows, sample.read, conversion);
  }
  return numberBuilder(channel, group, number, rows, virtual ? null : read, conversion);
}

function rawColumn(channel: MdfChannel, number: number, unit: string | null): Omit<RawColumn, "values"> {
  const masterUnit = MASTER.includes(channel.type) ? (MASTER_UNITS[channel.syncType] ?? null) : null;
  const ownUnit = channel.unit ?? unit ?? masterUnit;
  // The format itself says which channel is the time; where its name does not, it gets one that does.
  const unnamed = isTimeMaster(channel) && columnMeaning(channel.name, ownUnit).quantity?.name !== "time";
  return {
    number,
    header: unnamed ? "time" : channel.name,
    unit: ownUnit,
    source: unnamed ? channel.name : channel.source,
    kind: "number",
    zero: 0,
    labels: null,
  };
}

/** Tells whether a record's value of a channel is marked as invalid. */
function invalidIn(
  {allInvalid, invalidBit}: MdfChannel,
  group: MdfGroup,
): ((view: DataView, at: number) => boolean) | null {
  if (allInvalid) return () => true;
  if (invalidBit === null || invalidBit >= 8 * group.invalidBytes) return null;
  const byte = group.dataBytes + (invalidBit >> 3);
  const mask = 1 << (invalidBit & 7);
  return (view, at) => (view.getUint8(at + byte) & mask) !== 0;
}

function numberBuilder(
  channel: MdfChannel,
  group: MdfGroup,
  number: number,
  rows: number,
  read: ((view: DataView, at: number) => number) | null,
  {unit, convert, makes}: Conversion,
): ColumnBuilder {
  const values = new Float64Array(rows);
  const texts = new Map<string, {count: number; first_line: number}>();
  const invalid = invalidIn(channel, group);
  let row = 0;
  return {
    take(view, at, stride, count) {
      for (let i = 0; i < count; i++, row++) {
        const start = at + i * stride;
        if (invalid?.(view, start)) {
          values[row] = Number.NaN;
          continue;
        }
        const value = convert(read === null ? row : read(view, start));
        values[row] = typeof value === "number" && Number.isFinite(value) ? value : Number.NaN;
        if (makes === "both" && typeof value !== "number") countText(texts, value, row);
      }
    },
    finish: kept => ({
      column: {...rawColumn(channel, number, unit), values: values.subarray(0, kept)},
      unread: [...texts].map(([text, entry]) => ({
        reason: `"${text}" in place of a number in column "${channel.name}"`,
        ...entry,
      })),
    }),
  };
}

function countText(
  texts: Map<string, {count: number; first_line: number}>,
  value: string | null,
  row: number,
): void {
  const text = value ?? "no value";
  const entry = texts.get(text);
  if (entry) entry.count++;
  else texts.set(text, {count: 1, first_line: row + 1});
}

/** Whole numbers of up to 64 bits under a straight line: differences to the first value are exact. */
function longBuilder(
  channel: MdfChannel,
  group: MdfGroup,
  number: number,
  rows: number,
  read: LongSample,
  {unit, line}: Conversion,
): ColumnBuilder {
  const {offset, factor} = line!;
  const values = new Float64Array(rows);
  const invalid = invalidIn(channel, group);
  let zero: bigint | null = null;
  let row = 0;
  return {
    take(view, at, stride, count) {
      for (let i = 0; i < count; i++, row++) {
        const start = at + i * stride;
        if (invalid?.(view, start)) {
          values[row] = Number.NaN;
          continue;
        }
        const raw = read(view, start);
        // Only a first value that is too long makes a zero of its own: other columns stay as they are.
        zero ??= Number.isSafeInteger(Number(raw)) ? 0n : raw;
        values[row] = Number(raw - zero) * factor;
      }
    },
    finish(kept) {
      const long = zero !== null && zero !== 0n;
      if (!long && offset !== 0) for (let i = 0; i < kept; i++) values[i] += offset;
      return {
        column: {
          ...rawColumn(channel, number, unit),
          values: values.subarray(0, kept),
          zero: long ? offset + Number(zero) * factor : 0,
        },
        unread: [],
      };
    },
  };
}

function textBuilder(
  channel: MdfChannel,
  group: MdfGroup,
  number: number,
  rows: number,
  read: (view: DataView, at: number) => string | null,
  unit: string | null,
): ColumnBuilder {
  const values = new Float64Array(rows);
  const numbers = new Map<string, number>();
  const invalid = invalidIn(channel, group);
  let row = 0;
  return {
    take(view, at, stride, count) {
      for (let i = 0; i < count; i++, row++) {
        const text = invalid?.(view, at + i * stride) ? null : read(view, at + i * stride);
        if (text === null || text === "") {
          values[row] = Number.NaN;
          continue;
        }
        let label = numbers.get(text);
        if (label === undefined) {
          label = numbers.size;
          numbers.set(text, label);
        }
        values[row] = label;
      }
    },
    finish: kept => ({
      column: {
        ...rawColumn(channel, number, unit),
        kind: "text",
        values: values.subarray(0, kept),
        labels: [...numbers.keys()],
      },
      unread: [],
    }),
  };
}
