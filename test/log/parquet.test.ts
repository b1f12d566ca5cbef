import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {brotliCompressSync, gzipSync} from "node:zlib";
import fc from "fast-check";
import {parquetReadObjects} from "hyparquet";
import {compressors} from "hyparquet-compressors";
import {type BasicType, type ColumnSource, parquetWriteBuffer} from "hyparquet-writer";
import {describe, it} from "vitest";
import {walkThrift} from "../../lib/log/parquet/thrift-check.ts";
import {parquet} from "../../lib/log/parquet.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import type {RawColumn, RawTable} from "../../lib/log/reader.ts";
import {memorySource} from "../../lib/log/source.ts";
import {InputError} from "../../lib/result/error.ts";
import {cpuClock} from "../cpu-clock.ts";
import {reference} from "../reference.ts";

const open = (bytes: Uint8Array) => parquet.read(memorySource("drive.parquet", bytes), {});
const fixture = (name: string) =>
  Uint8Array.from(readFileSync(new URL(`../fixtures/parquet/${name}.parquet`, import.meta.url)));
const column = (table: RawTable, header: string): RawColumn =>
  table.columns.find(candidate => candidate.header === header) ?? assert.fail(`no column ${header}`);
/** Cells with the column's zero, texts as texts, missing as null. */
const cellsOf = ({values, zero, labels}: RawColumn) =>
  Array.from(values, value =>
    Number.isNaN(value) ? null : labels ? labels[value] : zero === 0 ? value : value + zero,
  );

/** A whole number of ticks out of a difference and its zero, exactly. */
function ticks({values, zero}: RawColumn, perUnit: bigint): (string | null)[] {
  const whole = BigInt(zero) * perUnit;
  return Array.from(values, value =>
    Number.isNaN(value) ? null : String(whole + BigInt(Math.round(value * Number(perUnit)))),
  );
}

describe("parquet", () => {
  // test/reference/parquet-pyarrow.py: every file has the same table, written by pyarrow 25.0.1
  const {files, columns} = reference("parquet").datasets.pyarrow as {
    files: string[];
    columns: Record<string, {type: string; values: (string | number | boolean | null)[]}>;
  };
  const perUnit: Record<string, bigint> = {s: 1n, ms: 1000n, us: 1_000_000n, ns: 1_000_000_000n};

  for (const file of files) {
    it(`reads ${file} as another program wrote it`, () => {
      const table = open(fixture(file));
      assert.equal(table.rows, 60);
      for (const [name, {type, values}] of Object.entries(columns)) {
        const found = column(table, name);
        const unit = /^(timestamp|time(?:32|64))\[(\w+)/.exec(type);
        const what = `${file} ${name}`;
        if (unit) {
          assert.equal(found.kind, unit[1] === "timestamp" ? "date-time" : "clock", what);
          assert.deepEqual(ticks(found, perUnit[unit[2]]), values, what);
        } else if (type === "string") {
          assert.equal(found.kind, "text");
          assert.deepEqual(cellsOf(found), values, what);
        } else if (type === "bool") {
          assert.equal(found.kind, "flag");
          assert.deepEqual(
            cellsOf(found),
            values.map(value => (value === null ? null : Number(value))),
            what,
          );
        } else if (type.startsWith("date")) {
          assert.equal(found.kind, "date");
          assert.deepEqual(
            cellsOf(found),
            values.map(value => Date.parse(`${value}T00:00:00Z`) / 1000),
            what,
          );
        } else if (/^u?int/.test(type)) {
          assert.deepEqual(ticks(found, 1n), values, what);
        } else {
          assert.deepEqual(
            cellsOf(found),
            values.map(value => (value === null ? null : Number(value))),
            what,
          );
        }
      }
      assert.deepEqual(table.unread, {
        rows: [],
        columns: [
          {name: "frame", reason: "it holds bytes that are no text"},
          {name: "list", reason: "it is nested: it has columns inside"},
          {name: "pair", reason: "it is nested: it has columns inside"},
        ],
      });
    });
  }

  it("leaves the unit in the header for the code that takes headers of all formats apart", () => {
    const log = readLogBytes(fixture("gzip-v2"), {name: "drive.bin", columns: {time: "stamp"}});
    assert.equal(log.format, "Parquet");
    const names = log.channels.map(({name, unit}) => `${name} ${unit}`);
    assert.ok(names.includes("speed km/h") && names.includes("coolant-temperature °C"), names.join());
    const speed = log.channels.find(({name}) => name === "speed")!;
    assert.equal(speed.values[0], 60.25 / 3.6);
    assert.ok(Number.isNaN(speed.values[2]));
    assert.ok(Math.abs(log.timeS[59] - 5.900000002) < 1e-12); // the last stamp is 2 ns late, to the first one's 0
    // 2024-06-15 10:15:00 UTC, by `date -u -d @1718446500`
    assert.ok(Math.abs(log.clockZeroS! - 1_718_446_500) < 1e-5);
  });

  it("says that a column is encrypted and reads the others", () => {
    const table = open(fixture("encrypted-column"));
    assert.deepEqual(table.unread.columns, [{name: "note", reason: "it is encrypted"}]);
    assert.equal(cellsOf(column(table, "Time [s]"))[9], 0.9);
  });

  it("refuses an encrypted file", () => {
    assert.equal(parquet.probe(fixture("encrypted"), "x"), 1);
    assert.throws(() => open(fixture("encrypted")), {
      name: "InputError",
      exitCode: 1,
      message: "drive.parquet: the file is encrypted; export it without encryption",
    });
  });

  it("refuses a file that is cut anywhere", () => {
    const whole = fixture("snappy-v1");
    for (let length = 4; length < whole.length; length += 97) {
      assert.throws(() => open(whole.subarray(0, length)), {name: "InputError", exitCode: 1});
    }
    assert.throws(() => open(whole.subarray(0, 9000)), /the file is cut: its footer/);
  });

  it("refuses a table without rows or without columns it can read", () => {
    const write = (columnData: ColumnSource[]) => new Uint8Array(parquetWriteBuffer({columnData}));
    assert.throws(() => open(write([{name: "v", data: [], type: "DOUBLE"}])), /the table has no rows/);
    const bytes = [Uint8Array.of(0, 255), Uint8Array.of(1)];
    assert.throws(
      () => open(write([{name: "v", data: bytes, type: "BYTE_ARRAY"}])),
      /no column can be read: "v": it holds bytes/,
    );
  });
});

describe("parquet beside its library", () => {
  const codecs = {
    UNCOMPRESSED: undefined,
    SNAPPY: undefined,
    GZIP: (bytes: Uint8Array) => new Uint8Array(gzipSync(bytes)),
    BROTLI: (bytes: Uint8Array) => new Uint8Array(brotliCompressSync(bytes)),
  };
  type Codec = keyof typeof codecs;
  const optional = <T>(value: fc.Arbitrary<T>) => fc.option(value, {nil: null, freq: 4});
  const kinds: [BasicType, fc.Arbitrary<unknown>, (string | undefined)[]][] = [
    ["DOUBLE", fc.double({noNaN: true, noDefaultInfinity: true}), [undefined, "PLAIN", "BYTE_STREAM_SPLIT"]],
    ["INT32", fc.integer({min: -(2 ** 31), max: 2 ** 31 - 1}), [undefined, "PLAIN", "DELTA_BINARY_PACKED"]],
    [
      "INT64",
      fc.bigInt({min: -(2n ** 63n), max: 2n ** 63n - 1n}),
      [undefined, "PLAIN", "DELTA_BINARY_PACKED"],
    ],
    ["BOOLEAN", fc.boolean(), [undefined, "RLE"]],
    [
      "STRING",
      fc.constantFrom("on", "off", "n/a", "heiß", "Ω"),
      [undefined, "PLAIN", "DELTA_BYTE_ARRAY", "DELTA_LENGTH_BYTE_ARRAY"],
    ],
  ];
  const anyColumn = fc
    .constantFrom(...kinds)
    .chain(([type, value, encodings]) =>
      fc.record({
        type: fc.constant(type),
        encoding: fc.constantFrom(...encodings),
        pool: fc.array(value, {minLength: 1, maxLength: 6}),
        fresh: fc.boolean(),
        data: fc.array(optional(value), {minLength: 90, maxLength: 90}),
      }),
    )
    .map(({type, encoding, pool, fresh, data}) => ({
      type,
      encoding,
      data: fresh ? data : data.map((value, i) => (value === null ? null : pool[i % pool.length])),
    }));

  it("reads what was written, and the same as the library's own reader", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(anyColumn, {minLength: 1, maxLength: 4}),
        fc.constantFrom(...(Object.keys(codecs) as Codec[])),
        fc.constantFrom(1, 7, 50, 90),
        fc.constantFrom(16, 200, 1 << 20),
        async (specs, codec, rowGroupSize, pageSize) => {
          const columnData = specs.map(
            (spec, i) => ({...spec, name: `c${i}`, nullable: true}) as ColumnSource,
          );
          const compress = codecs[codec];
          const file = parquetWriteBuffer({
            columnData,
            codec,
            compressors: compress ? {[codec]: compress} : undefined,
            rowGroupSize,
            pageSize,
          });
          const table = open(new Uint8Array(file));
          const theirs = await parquetReadObjects({file, compressors});
          for (const [i, {type, data}] of specs.entries()) {
            const found = column(table, `c${i}`);
            const other = theirs.map(row => row[`c${i}`] ?? null);
            const values = type === "INT64" ? longs(found, data) : cellsOf(found);
            const same = (value: unknown) => (type === "BOOLEAN" && value !== null ? Number(value) : value);
            assert.deepEqual(values, data.map(same));
            assert.deepEqual(values, other.map(same));
          }
        },
      ),
      {numRuns: 60},
    );
  });

  /**
   * The written long numbers themselves where the column agrees with them as far as it can: to the last unit where the
   * difference to its zero is a safe integer, else to the rounding of a double.
   */
  function longs({values, zero}: RawColumn, written: unknown[]): unknown[] {
    return Array.from(values, (value, i) => {
      if (Number.isNaN(value)) return null;
      const expected = written[i] as bigint;
      return Number(expected - BigInt(zero)) === value ? expected : value;
    });
  }

  it("keeps the steps of long whole numbers exact", () => {
    const data = [2n ** 62n + 1n, 2n ** 62n + 2n, 2n ** 62n + 1_000_003n];
    const file = parquetWriteBuffer({columnData: [{name: "n", data, type: "INT64"}]});
    const {values, zero} = column(open(new Uint8Array(file)), "n");
    assert.deepEqual([...values], [1, 2, 1_000_003]);
    assert.equal(zero, 2 ** 62);
    const short = parquetWriteBuffer({columnData: [{name: "n", data: [2n ** 53n - 1n, 0n], type: "INT64"}]});
    assert.equal(column(open(new Uint8Array(short)), "n").zero, 0);
  });
});

describe("walkThrift", () => {
  it("refuses lengths, depths and numbers that are not there", () => {
    const end = (...bytes: number[]) => walkThrift(Uint8Array.from(bytes), 0)?.end ?? null;
    assert.equal(end(0), 1);
    assert.equal(end(0x15, 2, 0), 3); // field 1: i32
    assert.equal(end(0x18, 2, 65, 66, 0), 5); // field 1: two letters
    assert.equal(end(0x18, 9, 65, 66, 0), null);
    assert.equal(end(0x19, 0xf5, 0xff, 0xff, 0xff, 0xff, 0x07, 0), null); // a list of 2³¹ − 1 numbers
    assert.equal(end(0x19, 0x22, 1, 2, 0), 5); // a list of two flags
    assert.equal(end(0x15, ...new Array(11).fill(0xff), 0), null);
    assert.equal(end(...new Array(200).fill(0x1c)), null); // structures inside structures
    assert.equal(end(0x1d, 0), null); // a type that Parquet does not use
  });
});

describe("parquet fuzz", () => {
  const fixtures = [
    "snappy-v1",
    "gzip-v2",
    "zstd-delta",
    "lz4-split",
    "brotli-pages",
    "plain-int96",
    "dictionary-pages",
  ].map(fixture);

  it("ends every damaged file with a table or a refusal, in time", () => {
    const place = fc.double({min: 0, max: 1, noNaN: true, maxExcluded: true});
    const change = fc.record({
      // the footer, and page headers at the ends of the file's parts, deserve more than their share of the bytes
      footer: fc.boolean(),
      place,
      bytes: fc.oneof(
        fc.uint8Array({minLength: 1, maxLength: 6}),
        fc.constantFrom(
          [0xff, 0xff, 0xff, 0xff, 0x07],
          [0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x7f],
          [0x19, 0xfc],
          [0x80],
        ),
      ),
    });
    fc.assert(
      fc.property(
        fc.constantFrom(...fixtures),
        fc.array(change, {minLength: 1, maxLength: 4}),
        (file, changes) => {
          const changed = Uint8Array.from(file);
          const footerBytes = new DataView(file.buffer).getUint32(file.length - 8, true);
          for (const {footer, place, bytes} of changes) {
            const start = footer ? file.length - 8 - footerBytes : 0;
            const at = start + Math.floor(place * (file.length - start));
            changed.set(Uint8Array.from(bytes).subarray(0, file.length - at), at);
          }
          requireTableOrRefusal(changed);
        },
      ),
      {numRuns: 700},
    );
  });

  it("ends any bytes between the letters of the format with a refusal", () => {
    const letters = new TextEncoder().encode("PAR1");
    fc.assert(
      fc.property(fc.uint8Array({maxLength: 300}), fc.integer({min: 0, max: 400}), (middle, length) => {
        requireTableOrRefusal(
          Uint8Array.of(...letters, ...middle, length & 255, length >> 8, 0, 0, ...letters),
        );
      }),
      {numRuns: 500},
    );
  });

  it("refuses sizes that no file of its length can hold, before anything is allocated", () => {
    const file = new Uint8Array(
      parquetWriteBuffer({
        columnData: [{name: "v", data: new Float64Array(64), type: "DOUBLE"}],
        codec: "UNCOMPRESSED",
        statistics: false,
      }),
    );
    // 64 rows stand as the zigzag number 0x80 0x01 three times in the footer: rows, values, rows of the group
    const huge = Buffer.from(file);
    const footer = huge.length - 8 - huge.readUInt32LE(huge.length - 8);
    const parts: Uint8Array[] = [];
    let from = footer;
    for (let at = huge.indexOf("8001", footer, "hex"); at >= 0; at = huge.indexOf("8001", at + 2, "hex")) {
      parts.push(huge.subarray(from, at), Uint8Array.of(0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x01)); // 2⁴¹
      from = at + 2;
    }
    const changed = Buffer.concat([huge.subarray(0, footer), ...parts, huge.subarray(from)]);
    changed.writeUInt32LE(changed.length - 8 - footer, changed.length - 8);
    assert.ok(parts.length >= 4);
    assert.throws(() => open(changed), {
      name: "InputError",
      message: /2199023255552 rows of 1 columns would fill 17592186 MB, out of a file of \d+ bytes/,
    });
  });

  function requireTableOrRefusal(file: Uint8Array): void {
    const spentMs = cpuClock();
    try {
      const table = open(file);
      for (const {values, labels} of table.columns) {
        assert.equal(values.length, table.rows);
        assert.ok(values.every(value => Number.isNaN(value) || Number.isFinite(value)));
        if (labels) assert.ok(values.every(value => Number.isNaN(value) || labels[value] !== undefined));
      }
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
    }
    assert.ok(spentMs() < 2000); // the bound of every reader
  }
});
