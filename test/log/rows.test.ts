import assert from "node:assert/strict";
import {createHash} from "node:crypto";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import fc from "fast-check";
import {afterAll, describe, it} from "vitest";
import {cellValues} from "../../lib/log/cell-values.ts";
import {growingColumns} from "../../lib/log/growing-columns.ts";
import type {CellFormat, Layout, Separator} from "../../lib/log/layout.ts";
import {ROW_KERNEL} from "../../lib/log/row-kernel-bytes.ts";
import {type RowReport, type WalkOptions, walkRows} from "../../lib/log/rows.ts";
import {type ByteSource, memorySource, withFile} from "../../lib/log/source.ts";
import {createRandom} from "../../lib/stats/random.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-rows-"));
afterAll(() => rmSync(folder, {recursive: true}));

const bytesOf = (text: string) => new TextEncoder().encode(text);
const NUMBER: CellFormat = {
  kind: "number",
  zero: null,
  cellUnit: null,
  grouped: false,
  order: "day-first",
  orderGuessed: false,
};
const TEXT: CellFormat = {...NUMBER, kind: "text"};

function layoutOf(
  cells: CellFormat[],
  {separator = "," as Separator, decimal = "." as "." | ","} = {},
): Layout {
  const names = cells.map((_, k) => `c${k}`);
  const none = names.map(() => null);
  const header = {names, units: none, sources: none, surplus: [], lines: 0};
  return {separator, decimal, firstData: 0, fields: cells.length, header, cells};
}

/** Everything a walk gives. */
function walk(source: ByteSource, layout: Layout, newline: number, options: WalkOptions) {
  const cells = cellValues(layout, layout.header.names);
  const held = growingColumns(layout.cells.length, 1);
  const report: RowReport = walkRows({source, layout, start: 0, newline, cells}, held.take, options);
  const lines = Array.from({length: report.rows}, (_, row) => report.lineOf(row));
  return {values: held.values(), labels: cells.labels(), lines, unread: report.unread, rows: report.rows};
}

function assertSame(a: ReturnType<typeof walk>, b: ReturnType<typeof walk>, what: string): void {
  for (const [k, column] of b.values.entries()) {
    assert.equal(a.values[k].length, column.length, what);
    const differs = column.findIndex((value, i) => !Object.is(a.values[k][i], value));
    assert.equal(
      differs,
      -1,
      `${what}: column ${k}, row ${differs}: ${a.values[k][differs]}, slow ${column[differs]}`,
    );
  }
  assert.deepEqual({...a, values: []}, {...b, values: []}, what);
}

const digits = (min: number, max: number) =>
  fc.array(fc.constantFrom(..."0123456789"), {minLength: min, maxLength: max}).map(list => list.join(""));

/** Numbers as they are written, and nearly so: with every way from the kernel to the slow reader. */
function cell(decimal: string) {
  const written = fc
    .tuple(
      fc.constantFrom("", "", "", "-", "+"),
      digits(0, 21),
      fc.oneof(
        fc.constant(""),
        digits(0, 21).map(text => decimal + text),
      ),
      fc.oneof(
        {weight: 6, arbitrary: fc.constant("")},
        fc.tuple(fc.constantFrom("e", "E"), fc.integer({min: -340, max: 340})).map(parts => parts.join("")),
      ),
    )
    .map(parts => parts.join(""));
  const printed = fc
    .double({noNaN: true, noDefaultInfinity: true})
    .map(value => String(value).replace(".", decimal));
  const short = fc
    .tuple(fc.integer({min: -9999, max: 9999}), digits(0, 4))
    .map(([a, b]) => `${a}${decimal}${b}`);
  const odd = fc.constantFrom(
    ...'|--| 7|7 |\t3|3\t|\0|1\0|nan|1e400|-1e400|1e|1e+|+-1|1..2|1.2.3|"5"|"5|bad|5 km/h|inf|,|é|-|.|0e400|-0|007|1_000'.split(
      "|",
    ),
  );
  return fc.oneof(
    {weight: 12, arbitrary: short},
    {weight: 3, arbitrary: written},
    {weight: 2, arbitrary: printed},
    {weight: 2, arbitrary: odd},
  );
}

describe("rows of a text", () => {
  it("come out of the kernel as they do cell by cell, to the last bit, with the same lines and counts", () => {
    const file = fc
      .tuple(
        fc.constantFrom<[Separator, "." | ","]>([",", "."], [";", ","], [";", "."], ["\t", "."], ["\t", ","]),
        fc.constantFrom("\n", "\r\n", "\r"),
        fc.array(fc.constantFrom(NUMBER, NUMBER, NUMBER, TEXT), {minLength: 1, maxLength: 5}),
        fc.boolean(),
      )
      .chain(([[separator, decimal], newline, cells, ends]) => {
        const row = fc.oneof(
          {
            weight: 12,
            arbitrary: fc.array(cell(decimal), {minLength: cells.length, maxLength: cells.length}),
          },
          {weight: 1, arbitrary: fc.array(cell(decimal), {maxLength: cells.length + 2})},
        );
        return fc.array(row, {maxLength: 40}).map(rows => ({
          text: rows.map(list => list.join(separator)).join(newline) + (ends ? newline : ""),
          layout: layoutOf(cells, {separator, decimal}),
          newline: newline === "\r" ? 13 : 10,
        }));
      });
    fc.assert(
      fc.property(file, ({text, layout, newline}) => {
        const source = memorySource("log", bytesOf(text));
        const slow = walk(source, layout, newline, {fast: false});
        assertSame(walk(source, layout, newline, {}), slow, JSON.stringify(text));
      }),
      {seed: 21, numRuns: 1500},
    );
  });
  it("are what Number makes of them", () => {
    // The whole way of digits, points and exponents, 100,000 cells, against the language's own conversion.
    const random = createRandom(5, "cells");
    const digit = () => String(Math.floor(10 * random.uniform()));
    const some = (most: number) =>
      Array.from({length: Math.floor((most + 1) * random.uniform())}, digit).join("");
    const cells = Array.from({length: 100_000}, () => {
      const whole = digit() + some(random.uniform() < 0.9 ? 5 : 20);
      const part = random.uniform() < 0.8 ? `.${some(random.uniform() < 0.8 ? 6 : 20)}` : "";
      const power = random.uniform() < 0.05 ? `e${Math.floor(60 * random.uniform()) - 30}` : "";
      return (random.uniform() < 0.4 ? "-" : "") + whole + part + power;
    });
    const found = walk(memorySource("log", bytesOf(cells.join("\n"))), layoutOf([NUMBER]), 10, {});
    assert.equal(found.rows, cells.length);
    for (const [i, text] of cells.entries()) assert.ok(Object.is(found.values[0][i], Number(text)), text);
  });
  it("do not depend on blocks, threads or what holds the bytes", () => {
    // Blocks are of 256 KiB: 3 MB in lines of changing length, with odd cells and lines among them and a block without a newline.
    const random = createRandom(6, "lines");
    const lines = Array.from({length: 60_000}, (_, i) => {
      if (i === 30_000) return " ".repeat(700_000);
      if (i % 997 === 0) return '1,"2",3';
      if (i % 499 === 0) return "a line of words";
      const text = i % 101 === 0 ? "--" : (1000 * random.uniform()).toFixed(i % 13);
      return `${i},${text},gear ${i % 7}`;
    });
    const layout = layoutOf([NUMBER, NUMBER, TEXT]);
    for (const end of ["", "\n", "\n12,3"]) {
      const bytes = bytesOf(lines.join("\n") + end);
      const slow = walk(memorySource("log", bytes), layout, 10, {fast: false});
      assertSame(walk(memorySource("log", bytes), layout, 10, {}), slow, "in memory");
      const file = join(folder, "lines.csv");
      writeFileSync(file, bytes);
      for (const threads of [0, 1, 3]) {
        withFile(file, source => assertSame(walk(source, layout, 10, {threads}), slow, `${threads} threads`));
      }
    }
  });
  it("may end at any byte", () => {
    const text = "1,2\n3,4.5\r\n6,7\n8,9";
    const layout = layoutOf([NUMBER, NUMBER]);
    for (let length = 0; length <= text.length; length++) {
      const source = memorySource("log", bytesOf(text.slice(0, length)));
      assertSame(
        walk(source, layout, 10, {}),
        walk(source, layout, 10, {fast: false}),
        text.slice(0, length),
      );
    }
  });
  it("have a longest line, told with its place, also where threads read", () => {
    const file = join(folder, "long.csv");
    writeFileSync(file, `1,2\n3,4\n${"5".repeat(5 << 20)},6\n7,8\n`);
    for (const threads of [0, 2]) {
      assert.throws(() => withFile(file, source => walk(source, layoutOf([NUMBER, NUMBER]), 10, {threads})), {
        exitCode: 1,
        message: /line 3.*a line of more than 4194304 bytes is no row of a table/,
      });
    }
  });
  it("may be wider than the kernel's memory", () => {
    const width = 5000;
    const row = Array.from({length: width}, (_, k) => k).join(",");
    const found = walk(
      memorySource("log", bytesOf(`${row}\n${row}`)),
      layoutOf(new Array(width).fill(NUMBER)),
      10,
      {},
    );
    assert.equal(found.rows, 2);
    assert.equal(found.values[4999][1], 4999);
  });
});

describe("the kernel", () => {
  it("was compiled from the source beside it", () => {
    // The benchmarks compile it again and compare the bytes; here it is enough that nobody changed the source alone.
    const source = readFileSync(new URL("../../lib/log/row-kernel.as", import.meta.url));
    assert.equal(createHash("sha256").update(source).digest("hex"), ROW_KERNEL.source);
  });
});
