import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {type MdfTable, mdf} from "../../lib/log/mdf.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import type {RawColumn} from "../../lib/log/reader.ts";
import {memorySource} from "../../lib/log/source.ts";
import {InputError} from "../../lib/result/error.ts";
import {cpuClock} from "../cpu-clock.ts";
import {reference} from "../reference.ts";
import {
  type ChannelSpec,
  type ConversionSpec,
  type DataSpec,
  type GroupSpec,
  writeMdf,
} from "./mdf-writer.ts";

const open = (bytes: Uint8Array, group?: string) =>
  mdf.read(memorySource("drive.mf4", bytes), {group}) as MdfTable;
const column = (table: MdfTable, header: string): RawColumn =>
  table.columns.find(candidate => candidate.header === header) ?? assert.fail(`no column ${header}`);
const valuesOf = (found: RawColumn) => Array.from(found.values, value => value + found.zero);
const textsOf = ({values, labels}: RawColumn) =>
  Array.from(values, value => (Number.isNaN(value) ? null : labels![value]));

/** Invented drive: time in ms as uint32, speed as uint16 in 0.01 km/h, engine speed as float32, a byte of flags. */
const ROWS = 23;
const RECORD_BYTES = 11;
const CHANNELS: ChannelSpec[] = [
  {
    name: "t",
    unit: "s",
    type: 2,
    syncType: 1,
    dataType: 0,
    byteOffset: 0,
    bitCount: 32,
    conversion: {type: 1, values: [0, 0.001]},
  },
  {
    name: "GPS speed",
    dataType: 0,
    byteOffset: 4,
    bitCount: 16,
    conversion: {type: 1, values: [0, 0.01], unit: "km/h"},
  },
  {name: "engine speed", unit: "1/min", dataType: 4, byteOffset: 6, bitCount: 32, source: "ECU"},
  {name: "brake", dataType: 0, byteOffset: 10, bitOffset: 3, bitCount: 1},
];

function driveRecord(row: number): Uint8Array {
  const view = new DataView(new ArrayBuffer(RECORD_BYTES));
  view.setUint32(0, 100 * row, true);
  view.setUint16(4, 6000 + 37 * row, true);
  view.setFloat32(6, 2100.5 + row, true);
  view.setUint8(10, row % 2 === 1 ? 0b1111_1000 : 0b1111_0111);
  return new Uint8Array(view.buffer);
}

const drive = (more: Partial<GroupSpec> = {}): GroupSpec => ({
  name: "drive",
  dataBytes: RECORD_BYTES,
  channels: CHANNELS,
  records: Array.from({length: ROWS}, (_, row) => driveRecord(row)),
  ...more,
});

function assertDrive(table: MdfTable): void {
  assert.equal(table.rows, ROWS);
  assert.deepEqual(
    table.columns.map(({header, unit, number}) => [number, header, unit]),
    [
      [1, "t", "s"],
      [2, "GPS speed", "km/h"],
      [3, "engine speed", "1/min"],
      [4, "brake", null],
    ],
  );
  const rows = Array.from({length: ROWS}, (_, row) => row);
  // the same products as the rule computes, so no rounding is left over
  assert.deepEqual(
    valuesOf(column(table, "t")),
    rows.map(row => 0.001 * (100 * row)),
  );
  assert.deepEqual(
    valuesOf(column(table, "GPS speed")),
    rows.map(row => 0.01 * (6000 + 37 * row)),
  );
  assert.deepEqual(
    valuesOf(column(table, "engine speed")),
    rows.map(row => 2100.5 + row),
  );
  assert.deepEqual(
    valuesOf(column(table, "brake")),
    rows.map(row => row % 2),
  );
}

/** One channel beside a time, of one raw value a row. */
function single(
  channel: Partial<ChannelSpec>,
  raw: number[],
  set: (view: DataView, value: number) => void,
): MdfTable {
  const records = raw.map((value, row) => {
    const view = new DataView(new ArrayBuffer(16));
    view.setFloat64(0, row, true);
    set(view, value);
    return new Uint8Array(view.buffer);
  });
  const time: ChannelSpec = {name: "time", type: 2, syncType: 1, dataType: 4, byteOffset: 0, bitCount: 64};
  const tested: ChannelSpec = {name: "x", dataType: 4, byteOffset: 8, bitCount: 64, ...channel};
  return open(writeMdf({data: [{groups: [{dataBytes: 16, channels: [time, tested], records}]}]}));
}
const floats = (conversion: ConversionSpec, raw: number[]) =>
  single({conversion}, raw, (view, value) => view.setFloat64(8, value, true));
const bytes = (conversion: ConversionSpec, raw: number[]) =>
  single({dataType: 0, bitCount: 8, conversion}, raw, (view, value) => view.setUint8(8, value));

describe("mdf", () => {
  it("reads the tiny file written by hand", () => {
    // C3-minimal-file of test/reference/mdf.json; its layout rows C3-layout-compared and C3-layout-memory
    const {row, datasets} = reference("mdf");
    const {expected} = row("C3-minimal-file");
    const table = open(Buffer.from(datasets["mdf4.minimal"].base64, "base64"));
    assert.equal(table.rows, expected.records);
    assert.equal(table.clockZeroS, expected.start_time_ns_utc / 1e9);
    for (const [name, {unit, values}] of Object.entries<{unit: string; values: number[]}>(
      expected.channels,
    )) {
      const found = column(table, name);
      assert.equal(found.unit, unit);
      for (const [i, value] of values.entries())
        assert.ok(Math.abs(found.values[i] - value) <= 1e-9, `${name} ${i}`);
    }
    assert.deepEqual(table.unread, {rows: [], columns: []});
  });

  it("reads the same records from every arrangement of blocks", () => {
    const layouts: Omit<DataSpec, "groups">[] = [
      {},
      {zip: "deflate"},
      {zip: "transposed"},
      // 37 bytes: records are cut by the ends of blocks, and the last row of a transposed block is not full
      ...(["list", "header list"] as const).flatMap(layout => [
        {layout, blockBytes: 37},
        {layout, blockBytes: 37, zip: "deflate" as const},
        {layout, blockBytes: 37, zip: "transposed" as const},
        {layout, blockBytes: 3},
      ]),
    ];
    for (const layout of layouts) assertDrive(open(writeMdf({data: [{groups: [drive()], ...layout}]})));
  });

  it("takes the records of a group out of those of others, with ids of every length", () => {
    const slow: GroupSpec = {
      name: "slow",
      recordId: 9,
      dataBytes: 2,
      channels: [{name: "oil", dataType: 0, byteOffset: 0, bitCount: 16}],
      records: Array.from({length: 5}, (_, i) => Uint8Array.of(i, 1)),
    };
    const variable: GroupSpec = {
      recordId: 7,
      flags: 1,
      dataBytes: 0,
      channels: [],
      records: [Uint8Array.of(1, 2, 3, 4, 5, 6, 7), new Uint8Array(0), new Uint8Array(50)],
    };
    const order = [2, ...Array.from({length: ROWS}, (_, i) => (i % 5 === 2 ? [1, 0] : [0])).flat(), 2, 2];
    for (const idBytes of [1, 2, 4, 8]) {
      const recordId = idBytes === 1 ? 200 : 40_000;
      for (const blockBytes of [5, 1 << 20]) {
        const groups = [drive({recordId}), slow, variable];
        const file = writeMdf({data: [{groups, idBytes, order, layout: "list", blockBytes}]});
        const table = open(file, "drive");
        assertDrive(table);
        assert.deepEqual(table.unread.rows, [
          {reason: "values of varying length, kept apart from the records", count: 3, first_line: ROWS + 1},
        ]);
        assert.deepEqual(valuesOf(column(open(file, "slow"), "oil")), [256, 257, 258, 259, 260]);
      }
    }
  });

  it("reads whole numbers from any bits, in both byte orders", () => {
    // Differential: the bits are put together here with BigInt, the reader has three ways of its own.
    fc.assert(
      fc.property(
        fc.integer({min: 1, max: 64}),
        fc.integer({min: 0, max: 7}),
        fc.integer({min: 0, max: 3}),
        fc.integer({min: 0, max: 5}),
        fc.bigInt({min: 0n, max: 2n ** 64n - 1n}),
        fc.uint8Array({minLength: 16, maxLength: 16}),
        (bitCount, bitOffset, dataType, byteOffset, pattern, noise) => {
          const size = Math.ceil((bitOffset + bitCount) / 8);
          const mask = ((1n << BigInt(bitCount)) - 1n) << BigInt(bitOffset);
          const record = Uint8Array.from(noise);
          const place = (i: number) => byteOffset + (dataType % 2 === 0 ? i : size - 1 - i);
          let word = 0n;
          for (let i = 0; i < size; i++) word |= BigInt(record[place(i)]) << BigInt(8 * i);
          word = (word & ~mask) | ((pattern << BigInt(bitOffset)) & mask);
          for (let i = 0; i < size; i++) record[place(i)] = Number((word >> BigInt(8 * i)) & 255n);
          const expected =
            dataType >= 2 ? BigInt.asIntN(bitCount, pattern) : BigInt.asUintN(bitCount, pattern);
          const group = {
            dataBytes: 16,
            records: [record],
            channels: [{name: "x", dataType, byteOffset, bitOffset, bitCount}],
          };
          const [found] = open(writeMdf({data: [{groups: [group]}]})).columns;
          assert.equal(valuesOf(found)[0], Number(expected));
        },
      ),
      {numRuns: 300},
    );
  });

  it("reads floating-point numbers and texts in both byte orders", () => {
    const record = new DataView(new ArrayBuffer(64));
    record.setFloat64(0, -1.25e-7, false);
    record.setFloat32(8, 3.5, false);
    record.setFloat64(12, 6.02e23, true);
    new Uint8Array(record.buffer, 20).set([0xb0, 0x43, 0, 0x58]); // °C in Latin-1, then what is behind the NUL
    new Uint8Array(record.buffer, 24).set(new TextEncoder().encode("dry°"));
    new Uint8Array(record.buffer, 32).set([0x77, 0, 0x65, 0, 0x74, 0]);
    new Uint8Array(record.buffer, 40).set([0, 0x77, 0, 0x65]);
    const channels: ChannelSpec[] = [
      {name: "a", dataType: 5, byteOffset: 0, bitCount: 64},
      {name: "b", dataType: 5, byteOffset: 8, bitCount: 32},
      {name: "c", dataType: 4, byteOffset: 12, bitCount: 64},
      {name: "d", dataType: 6, byteOffset: 20, bitCount: 32},
      {name: "e", dataType: 7, byteOffset: 24, bitCount: 48},
      {name: "f", dataType: 8, byteOffset: 32, bitCount: 64},
      {name: "g", dataType: 9, byteOffset: 40, bitCount: 64},
    ];
    const group = {dataBytes: 64, channels, records: [new Uint8Array(record.buffer), new Uint8Array(64)]};
    const table = open(writeMdf({data: [{groups: [group]}]}));
    assert.deepEqual(
      ["a", "b", "c"].map(name => column(table, name).values[0]),
      [-1.25e-7, 3.5, 6.02e23],
    );
    // an empty text is no value
    assert.deepEqual(textsOf(column(table, "d")), ["°C", null]);
    assert.deepEqual(textsOf(column(table, "e")), ["dry°", null]);
    assert.deepEqual(textsOf(column(table, "f")), ["wet", null]);
    assert.deepEqual(textsOf(column(table, "g")), ["we", null]);
  });

  it("says why a channel is not read, and reads the others", () => {
    const odd: [Partial<ChannelSpec>, RegExp][] = [
      [{type: 1}, /varying length and are kept apart/],
      [{type: 4}, /picture or sound/],
      [{type: 5}, /varying length/],
      [{dataType: 10}, /bytes, not a number/],
      [{dataType: 13}, /form of date/],
      [{dataType: 99}, /unknown type 99/],
      [{dataType: 4, bitCount: 16}, /16 bits/],
      [{array: true}, /array/],
      [{byteOffset: 9}, /outside its record of 11 bytes/],
      [{dataType: 0, bitCount: 0}, /outside its record/],
      [{conversion: {type: 3, references: ["X*2"]}}, /formula/],
      [{conversion: {type: 9, references: ["low"], values: [1, 0]}}, /texts into numbers/],
      [{conversion: {type: 10, references: ["low", "tief", ""]}}, /texts into other texts/],
      [{conversion: {type: 11}}, /bits with texts/],
      [{conversion: {type: 42}}, /unknown type 42/],
      [{conversion: {type: 4, values: [1, 10, 0, 20]}}, /do not ascend/],
      [{conversion: {type: 6, values: [0, 5, 1, 3, 9, 2]}}, /overlap/],
      [{conversion: {type: 8, values: [0, 5, 3, 9], references: ["a", "b"]}}, /overlap/],
    ];
    const channels = odd.map(([more], i) => ({
      name: `odd ${i}`,
      dataType: 0,
      byteOffset: 4,
      bitCount: 32,
      ...more,
    }));
    const table = open(writeMdf({data: [{groups: [drive({channels: [...CHANNELS, ...channels]})]}]}));
    assertDrive(table);
    assert.equal(table.unread.columns.length, odd.length);
    for (const [i, [, reason]] of odd.entries()) {
      assert.equal(table.unread.columns[i].name, `odd ${i}`);
      assert.match(table.unread.columns[i].reason, reason);
    }
  });

  it("reads the parts of a channel that is made of others", () => {
    const whole: ChannelSpec = {
      name: "bus",
      dataType: 10,
      byteOffset: 4,
      bitCount: 56,
      parts: CHANNELS.slice(1),
    };
    const table = open(writeMdf({data: [{groups: [drive({channels: [CHANNELS[0], whole]})]}]}));
    assertDrive(table);
  });

  it("leaves out values whose invalidation bit is set", () => {
    const channels = [{...CHANNELS[0]}, {...CHANNELS[1], invalidBit: 10}, {...CHANNELS[2], allInvalid: true}];
    const records = Array.from({length: 6}, (_, row) =>
      Uint8Array.of(...driveRecord(row), 0xff, row % 3 === 0 ? 4 : 0xfb),
    );
    const table = open(writeMdf({data: [{groups: [drive({channels, records, invalidBytes: 2})]}]}));
    assert.deepEqual(Array.from(column(table, "GPS speed").values, Number.isNaN), [
      true,
      false,
      false,
      true,
      false,
      false,
    ]);
    assert.ok(column(table, "engine speed").values.every(Number.isNaN));
    assert.equal(column(table, "t").values[3], 0.3);
  });

  it("computes the time of a master that is not in the record", () => {
    const virtual: ChannelSpec = {
      name: "t",
      type: 3,
      syncType: 1,
      dataType: 0,
      byteOffset: 0,
      bitCount: 0,
      conversion: {type: 1, values: [5, 0.25]},
    };
    const table = open(writeMdf({data: [{groups: [drive({channels: [virtual, ...CHANNELS.slice(1)]})]}]}));
    assert.deepEqual(valuesOf(column(table, "t")).slice(0, 3), [5, 5.25, 5.5]);
    assert.equal(column(table, "t").unit, "s");
  });

  it("names a master time that has another name, and puts it first", () => {
    const master = {...CHANNELS[0], name: "Zaehler", unit: undefined};
    const table = open(writeMdf({data: [{groups: [drive({channels: [...CHANNELS.slice(1), master]})]}]}));
    assert.deepEqual(
      (({header, unit, source, number}) => ({header, unit, source, number}))(table.columns[0]),
      {header: "time", unit: "s", source: "Zaehler", number: 1},
    );
  });

  it("keeps the steps of an absolute time in nanoseconds exact", () => {
    // 2⁵³ ns is 104 days: a double holds today's date in steps of 256 ns only
    const start = 1_718_446_500_000_000_001n;
    const steps = [0n, 1n, 100_000_000n, 100_000_007n];
    const records = steps.map(step => new Uint8Array(BigUint64Array.of(start + step).buffer));
    const master: ChannelSpec = {
      name: "t",
      type: 2,
      syncType: 1,
      dataType: 0,
      byteOffset: 0,
      bitCount: 64,
      conversion: {type: 1, values: [0, 1e-9]},
    };
    const [time] = open(writeMdf({data: [{groups: [{dataBytes: 8, channels: [master], records}]}]})).columns;
    assert.deepEqual([...time.values], [0, 1e-9, 0.1, 0.100000007]);
    assert.ok(Math.abs(time.zero - 1_718_446_500) < 1e-6);
  });

  it("gives the start of the recording as clock time", () => {
    const startNs = 1_718_446_500_123_456_789n;
    assert.equal(open(writeMdf({startNs, data: [{groups: [drive()]}]})).clockZeroS, Number(startNs) / 1e9);
    assert.equal(open(writeMdf({data: [{groups: [drive()]}]})).clockZeroS, null);
  });

  it("reads units from XML comments", () => {
    const channels = [
      CHANNELS[0],
      {...CHANNELS[1], unit: "<CNunit><TX xml:space='preserve'>m/s &amp; more</TX></CNunit>"},
    ];
    const table = open(writeMdf({data: [{groups: [drive({channels})]}]}));
    assert.equal(column(table, "GPS speed").unit, "m/s & more"); // the channel's own goes before its rule's
  });
});

describe("mdf conversions", () => {
  // Expected values by hand from the formulas of C3-layout-memory.
  const numbers = (table: MdfTable) => valuesOf(column(table, "x"));

  it("computes linear and rational rules", () => {
    assert.deepEqual(numbers(floats({type: 0}, [1, -2.5])), [1, -2.5]);
    assert.deepEqual(numbers(floats({type: 1, values: [-40, 0.5]}, [0, 100])), [-40, 10]);
    // (x² + 2x + 3) / (x + 1)
    assert.deepEqual(numbers(floats({type: 2, values: [1, 2, 3, 0, 1, 1]}, [0, 1, 3])), [3, 3, 4.5]);
    assert.deepEqual(numbers(floats({type: 2, values: [1, 2, 3, 0, 1, 1]}, [-1, 1])), [Number.NaN, 3]); // 2/0
  });

  it("looks up values with and without interpolation", () => {
    const values = [0, 10, 2, 20, 4, 0];
    assert.deepEqual(numbers(floats({type: 4, values}, [-1, 0, 0.5, 2, 3, 9])), [10, 10, 12.5, 20, 10, 0]);
    assert.deepEqual(numbers(floats({type: 5, values}, [-1, 0.9, 1, 1.1, 3.5, 9])), [10, 10, 10, 20, 0, 0]);
    assert.ok(Number.isNaN(numbers(floats({type: 4, values}, [Number.NaN]))[0]));
  });

  it("looks up ranges, whose upper end belongs to whole numbers only", () => {
    const values = [0, 5, 100, 5, 9, 200, -1];
    assert.deepEqual(numbers(floats({type: 6, values}, [0, 4.9, 5, 9, 20])), [100, 100, 200, -1, -1]);
    assert.deepEqual(numbers(bytes({type: 6, values}, [0, 4, 5, 9, 20])), [100, 100, 200, 200, -1]);
    assert.ok(Number.isNaN(numbers(bytes({type: 6, values: values.slice(0, 6)}, [20]))[0]));
  });

  it("makes texts of values and of ranges", () => {
    const gear = bytes(
      {type: 7, values: [0, 1, 2], references: ["neutral", "first", "second", null]},
      [1, 0, 2, 2, 7],
    );
    assert.equal(column(gear, "x").kind, "text");
    assert.deepEqual(textsOf(column(gear, "x")), ["first", "neutral", "second", "second", null]);
    const fix = bytes(
      {type: 8, values: [0, 1, 2, 3], references: ["none", "good", "unknown"]},
      [0, 1, 2, 3, 4],
    );
    assert.deepEqual(textsOf(column(fix, "x")), ["none", "none", "good", "good", "unknown"]);
  });

  it("keeps numbers where only some values have a text, with the unit of the inner rule", () => {
    const inner = {type: 1, values: [0, 0.5], unit: "km/h"};
    const values = [254, 254, 255, 255];
    const table = bytes(
      {type: 8, values, references: ["error", "not available", inner]},
      [100, 254, 255, 3, 255],
    );
    const found = column(table, "x");
    assert.deepEqual([found.kind, found.unit], ["number", "km/h"]);
    assert.deepEqual([...found.values], [50, Number.NaN, Number.NaN, 1.5, Number.NaN]);
    assert.deepEqual(table.unread.rows, [
      {reason: '"error" in place of a number in column "x"', count: 1, first_line: 2},
      {reason: '"not available" in place of a number in column "x"', count: 2, first_line: 3},
    ]);
  });
});

describe("mdf groups", () => {
  const other = (more: Partial<GroupSpec> = {}): GroupSpec => ({
    name: "other",
    dataBytes: 2,
    channels: [{name: "oil temperature", unit: "degC", dataType: 0, byteOffset: 0, bitCount: 16}],
    records: [Uint8Array.of(1, 0), Uint8Array.of(2, 0)],
    ...more,
  });
  const own: ChannelSpec = {name: "vehicle speed", unit: "km/h", dataType: 0, byteOffset: 0, bitCount: 16};
  const file = (...groups: GroupSpec[]) => writeMdf({data: groups.map(group => ({groups: [group]}))});

  it("takes the only group with a speed, the satellite's before the car's, and says so", () => {
    const table = open(file(other(), drive(), other({name: "car", channels: [own]})));
    assertDrive(table);
    assert.deepEqual(table.guesses, [
      {what: "group", chosen: '"drive", the only one with a speed', confidence: "likely"},
    ]);
    assert.equal(
      open(file(other(), other({name: "car", channels: [own]}))).columns[0].header,
      "vehicle speed",
    );
    assertDrive(open(file(other({records: []}), drive())));
  });

  it("lists the groups where it cannot choose, and takes the one that is asked for", () => {
    const file2 = file(drive(), other(), drive({name: "drive 2"}));
    assert.throws(() => open(file2), {
      name: "InputError",
      exitCode: 1,
      message:
        /drive\.mf4: the file holds 3 tables, 2 of them with a speed: 1 "drive" \(23 rows: t, GPS speed, engine speed, brake\); 2 "other" \(2 rows: oil temperature\); 3 .*; choose one with --group "drive"$/,
    });
    assertDrive(open(file2, "drive 2"));
    assert.equal(open(file2, "2").rows, 2);
    assert.throws(() => open(file2, "drift"), {
      exitCode: 2,
      message: /no group with records has the name "drift"; there are 1 "drive"/,
    });
    assert.throws(() => open(file(drive(), drive())), /choose one with --group "1"$/);
    assert.throws(() => open(file(drive(), drive()), "drive"), {
      exitCode: 2,
      message: /several groups have the name/,
    });
  });

  it("refuses frames of a bus that were not decoded", () => {
    assert.throws(() => open(file(drive({flags: 2}))), {
      exitCode: 1,
      message: /raw frames of a bus.*decode it/,
    });
  });

  it("refuses a group whose time is elsewhere", () => {
    assert.throws(
      () => open(file(drive({flags: 8}))),
      /the time of the group "drive" is kept in another group/,
    );
  });
});

describe("mdf refusals", () => {
  const good = writeMdf({data: [{groups: [drive()], layout: "list", blockBytes: 100}]});
  /** The file with a number written over one of its fields. */
  function with64(offset: number, value: bigint, bytes = good): Uint8Array {
    const changed = Uint8Array.from(bytes);
    new DataView(changed.buffer).setBigUint64(offset, value, true);
    return changed;
  }
  const placeOf = (id: string, bytes = good) => Buffer.from(bytes).indexOf(`##${id}`);
  const refused = (bytes: Uint8Array, message: RegExp) =>
    assert.throws(() => open(bytes), {name: "InputError", exitCode: 1, message});

  it("says why a file that was not finalised is not read, and what to do", () => {
    refused(
      writeMdf({id: "UnFinMF ", data: [{groups: [drive()]}]}),
      /^drive\.mf4: this MDF file was never finalised.*finalise it/,
    );
    assert.equal(mdf.probe(new TextEncoder().encode("UnFinMF 4.10    "), "a"), 1);
    assert.equal(mdf.probe(new TextEncoder().encode("time,speed"), "a.mf4"), 0);
  });

  it("names versions that it does not read", () => {
    refused(writeMdf({version: 330, data: []}), /MDF version 3\.3; versions 4\.00 to 4\.20 are read; export/);
    refused(writeMdf({version: 500, data: []}), /MDF version 5;/);
  });

  it("refuses a file that is cut anywhere", () => {
    for (let length = 0; length < good.length; length += 7) {
      assert.throws(() => open(good.subarray(0, length)), {name: "InputError", exitCode: 1});
    }
    refused(good.subarray(0, 50), /50 bytes, less than the head/);
    refused(writeMdf({data: []}), /no records/);
  });

  it("refuses links that lead nowhere, to another block or round in a circle", () => {
    const group = placeOf("DG");
    refused(with64(group + 24 + 8, BigInt(placeOf("CG") + 4)), /does not start at a multiple of 8/);
    refused(
      with64(group + 24 + 8, 1n << 50n),
      /a block at byte \d+ is pointed to, but the file has \d+ bytes/,
    );
    refused(with64(group + 24 + 8, BigInt(placeOf("CN"))), /should be a CG block, found "##CN"/);
    refused(with64(group + 24, BigInt(group)), /reached twice: its links run in a circle/);
    refused(with64(placeOf("CN") + 24, BigInt(placeOf("CN"))), /circle/);
    const list = placeOf("DL");
    refused(with64(list + 24, BigInt(list)), /circle/);
    refused(with64(list + 32, BigInt(placeOf("CG"))), /should be a DT or DV or DZ block/);
  });

  it("refuses sizes that no file of its length can hold, before anything is allocated", () => {
    refused(with64(placeOf("CG") + 8, 1n << 60n), /goes beyond the end of the file/);
    refused(with64(placeOf("CG") + 16, 1n << 60n), /too short for its/);
    const virtual: ChannelSpec = {name: "t", type: 3, syncType: 1, dataType: 0, byteOffset: 0, bitCount: 0};
    refused(
      writeMdf({data: [{groups: [{dataBytes: 0, channels: [virtual], records: [], announced: 2 ** 40}]}]}),
      /1099511627776 records of 1 channels would fill 8796093 MB, out of a file of \d+ bytes/,
    );
    const zipped = writeMdf({data: [{groups: [drive()], zip: "deflate"}]});
    refused(with64(placeOf("DZ", zipped) + 24 + 8, 1n << 40n, zipped), /which deflate cannot do/);
    refused(
      with64(placeOf("DZ", zipped) + 24 + 8, 300n, zipped),
      /should have 300 bytes, they have 253|cannot be decompressed/,
    );
    refused(with64(placeOf("DZ", zipped) + 24 + 8, 100n, zipped), /cannot be decompressed|they have 101/);
  });

  it("refuses conversions that contain each other", () => {
    const rule = {type: 7, values: [1], references: [{type: 1, values: [0, 1], unit: "inner"}, "x"]};
    const channels = [{...CHANNELS[1], conversion: rule}];
    const file = writeMdf({data: [{groups: [drive({channels})]}]});
    const table = Buffer.from(file).lastIndexOf("##CC");
    refused(with64(table + 24 + 4 * 8, BigInt(table), file), /too many others inside it, or itself/);
  });

  it("counts records that are missing and records that are too many", () => {
    const missing = open(writeMdf({data: [{groups: [drive({announced: ROWS + 4})]}]}));
    assertDrive(missing);
    assert.deepEqual(missing.unread.rows, [
      {reason: "the group announces more records than the file holds", count: 4, first_line: ROWS + 1},
    ]);
    const surplus = open(writeMdf({data: [{groups: [drive({announced: ROWS - 3})]}]}));
    assert.equal(surplus.rows, ROWS - 3);
    assert.equal(surplus.unread.rows[0].count, 3);
  });

  it("refuses a record of no group and compression that is not known", () => {
    const mixed = writeMdf({
      data: [{groups: [drive({recordId: 3}), drive({name: "b", recordId: 4, flags: 2})], idBytes: 1}],
    });
    const at = placeOf("DT", mixed) + 24;
    refused(
      Uint8Array.from(mixed, (byte, i) => (i === at ? 99 : byte)),
      /a record has the id 99, which no group has/,
    );
    const zipped = writeMdf({data: [{groups: [drive()], zip: "deflate"}]});
    const kind = placeOf("DZ", zipped) + 24 + 2;
    refused(
      Uint8Array.from(zipped, (byte, i) => (i === kind ? 2 : byte)),
      /compressed by method 2/,
    );
  });
});

describe("mdf as a log", () => {
  it("is recognised, timed and converted by readLogBytes", () => {
    const log = readLogBytes(writeMdf({data: [{groups: [drive()], zip: "transposed"}]}), {name: "drive.dat"});
    assert.equal(log.format, "MDF 4");
    assert.equal(log.timeZero, "elapsed");
    assert.equal(log.timeS.length, ROWS);
    assert.equal(log.timeS[ROWS - 1], 2.2);
    const speed = log.channels.find(({name}) => name === "speed")!;
    assert.ok(Math.abs(speed.values[0] - 60 / 3.6) < 1e-12);
    assert.equal(speed.valueUnit, "m/s");
    assert.deepEqual(log.unread, {rows: [], columns: []});
  });
});

describe("mdf fuzz", () => {
  const conversion: ConversionSpec = {
    type: 8,
    values: [0, 6100, 6400, 6500],
    references: [
      "low",
      {type: 7, values: [6400], references: ["odd", {type: 4, values: [0, 0, 1e4, 9]}]},
      {type: 1, values: [0, 0.01], unit: "km/h"},
    ],
  };
  const channels = [
    ...CHANNELS,
    {...CHANNELS[1], name: "status", conversion},
    {name: "note", dataType: 7, byteOffset: 6, bitCount: 32},
  ];
  const variable: GroupSpec = {
    recordId: 2,
    flags: 1,
    dataBytes: 0,
    channels: [],
    records: [new Uint8Array(9)],
  };
  const fixtures = [
    writeMdf({data: [{groups: [drive({channels})]}]}),
    writeMdf({data: [{groups: [drive({channels, invalidBytes: 0})], zip: "transposed"}]}),
    writeMdf({
      data: [
        {
          groups: [drive({channels, recordId: 1}), variable],
          idBytes: 1,
          layout: "header list",
          blockBytes: 50,
        },
      ],
    }),
    writeMdf({
      data: [
        {groups: [drive({name: "a", channels: channels.slice(2)})]},
        {groups: [drive()], zip: "deflate", layout: "list", blockBytes: 60},
      ],
    }),
  ];

  it("ends every damaged file with a table or a refusal, in time", () => {
    const word = fc.oneof(
      fc.bigInt({min: 0n, max: 2n ** 64n - 1n}),
      fc.bigInt({min: 0n, max: 4096n}),
      fc.integer({min: 0, max: 63}).map(bit => 1n << BigInt(bit)),
      fc.integer({min: 8, max: 600}).map(place => BigInt(8 * place)),
    );
    fc.assert(
      fc.property(
        fc.constantFrom(...fixtures),
        fc.array(fc.tuple(fc.double({min: 0, max: 1, noNaN: true}), word, fc.constantFrom(1, 2, 4, 8)), {
          maxLength: 4,
        }),
        fc.oneof(fc.constant(1), fc.double({min: 0, max: 1, noNaN: true})),
        (fixture, changes, keep) => {
          const changed = Uint8Array.from(fixture);
          const view = new DataView(changed.buffer);
          for (const [place, value, size] of changes) {
            const at = Math.floor(((changed.length - 8) * place) / size) * size; // fields are aligned
            if (size === 1) view.setUint8(at, Number(value & 0xffn));
            else if (size === 2) view.setUint16(at, Number(value & 0xffffn), true);
            else if (size === 4) view.setUint32(at, Number(value & 0xffff_ffffn), true);
            else view.setBigUint64(at, value, true);
          }
          requireTableOrRefusal(changed.subarray(0, Math.ceil(keep * changed.length)));
        },
      ),
      {numRuns: 1500},
    );
  });

  it("ends any bytes behind the signature with a refusal or a table", () => {
    fc.assert(
      fc.property(fc.uint8Array({maxLength: 300}), rest => {
        requireTableOrRefusal(Uint8Array.of(...fixtures[0].subarray(0, 64), ...rest));
      }),
      {numRuns: 200},
    );
  });

  function requireTableOrRefusal(file: Uint8Array): void {
    const spentMs = cpuClock();
    try {
      const table = open(file);
      for (const {values, labels} of table.columns) {
        assert.equal(values.length, table.rows);
        assert.ok(
          values.every(value => value !== Number.POSITIVE_INFINITY && value !== Number.NEGATIVE_INFINITY),
        );
        if (labels) assert.ok(values.every(value => Number.isNaN(value) || labels[value] !== undefined));
      }
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
    }
    assert.ok(spentMs() < 2000); // the bound of every reader
  }
});
