import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {openSource} from "../../lib/log/open-log.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import {memorySource} from "../../lib/log/source.ts";
import type {Channel} from "../../lib/result/log.ts";

const bytesOf = (text: string) => new TextEncoder().encode(text);

/** A log with a backward step, codes for no value, texts, an empty column and two columns of one quantity. */
const LINES = Array.from({length: 400}, (_, i) => {
  const t = i === 200 ? 5 : i / 10;
  const coolant = i % 50 === 3 ? "-9999" : i % 50 === 7 ? "655.35" : (80 + (i % 7)).toFixed(1);
  return `${t},${(50 + 10 * Math.sin(i / 30)).toFixed(2)},${coolant},gear ${i % 3},,${i % 40 === 0 ? "--" : i},${i / 4},${i / 8}`;
});
const LOG = bytesOf(
  `Time [s],Speed [km/h],Coolant temp [°F],Note,Nothing,Extra [bar],Lambda,Lambda\n${LINES.join("\n")}\n`,
);

const ranges = ({values, kind, valid}: Channel) => {
  const finite = values.filter(value => Number.isFinite(value));
  return valid === 0 || kind === "text" ? null : {min: Math.min(...finite), max: Math.max(...finite)};
};

const withoutValues = ({values: _, range: __, ...others}: Channel) => others;

/** A log that stays in its file, with no two columns of one quantity. */
const SIMPLE = bytesOf(new TextDecoder().decode(LOG).replace("Lambda,Lambda", "Lambda,Ratio"));

describe("a log read for some quantities", () => {
  const whole = readLogBytes(LOG);
  const only = {quantities: ["speed"], aboveBytes: 0};
  it("has the same times, ranges, counts and guesses as the whole one where it stays in its file", () => {
    const all = readLogBytes(SIMPLE);
    const {log, samples, times, valuesOf, parts} = openSource(memorySource("log", SIMPLE), {only});
    assert.equal(samples, 399);
    assert.deepEqual(times.piece(0), all.timeS);
    assert.deepEqual(log.guesses, all.guesses);
    assert.deepEqual(log.unread, all.unread);
    assert.match(
      log.unread.rows.map(({reason}) => reason).join(),
      /-9999 stands for no value.*655.35, all bits set/,
    );
    for (const [k, channel] of log.channels.entries()) {
      const same = all.channels[k];
      assert.deepEqual(withoutValues(channel), withoutValues(same));
      assert.equal(channel.values.length, 0);
      const first = same.values.find(Number.isFinite);
      assert.deepEqual(channel.range, ranges(same) && {...ranges(same), first}, channel.column);
      const held = valuesOf(channel);
      assert.equal(held !== null, channel.name === "speed");
      if (held) assert.deepEqual(held.piece(0), same.values);
    }
    const stretches = [
      {first: 0, end: 10},
      {first: 5, end: 300},
      {first: 290, end: 399},
    ];
    const seen: unknown[] = [];
    parts!(stretches, (part, {first, end}) => {
      seen.push({first, end});
      assert.deepEqual(part.timeS, all.timeS.slice(first, end));
      for (const [k, {values}] of part.channels.entries())
        assert.deepEqual(values, all.channels[k].values.slice(first, end));
    });
    assert.deepEqual(seen, stretches);
  });
  it("is in memory, as far as needed, where all values tell what a column is", () => {
    const {log, times, valuesOf, parts} = openSource(memorySource("log", LOG), {only});
    assert.deepEqual(times.array, whole.timeS);
    assert.deepEqual(log.guesses, whole.guesses);
    assert.deepEqual(log.unread, whole.unread);
    const held = log.channels.filter(channel => valuesOf(channel) !== null).map(({column}) => column);
    assert.deepEqual(held, ["Time [s]", "Speed [km/h]", "Note", "Lambda", "Lambda"]);
    parts!([{first: 100, end: 250}], part => {
      for (const {column, values} of part.channels.filter(({column: name}) => name !== "Lambda"))
        assert.deepEqual(
          values,
          whole.channels.find(other => other.column === column)!.values.slice(100, 250),
        );
    });
  });
  it("may leave the others out", () => {
    const log = readLogBytes(LOG, {only: {...only}});
    assert.ok(log.channels.every(({values}) => values.length === log.timeS.length));
    assert.equal(log.channels.length, 5);
    assert.deepEqual(log.guesses.slice(0, -1), whole.guesses);
    assert.match(
      log.guesses[log.guesses.length - 1].chosen,
      /^not "Coolant temp \[°F\]", "Nothing", "Extra \[bar\]": the log is/,
    );
    assert.deepEqual(log.unread, whole.unread);
  });
  it("has all channels where it is small, and those that are declared", () => {
    assert.deepEqual(readLogBytes(LOG, {only: {quantities: []}}), whole);
    const declared = {columns: {"oil-pressure": "Extra [bar]"}};
    const log = readLogBytes(LOG, {...declared, only: {quantities: [], aboveBytes: 0}});
    const extra = log.channels.find(({name}) => name === "oil-pressure");
    assert.deepEqual(
      extra,
      readLogBytes(LOG, declared).channels.find(({name}) => name === "oil-pressure"),
    );
  });
});

describe("text in UTF-16", () => {
  it("is refused where it is too large to be decoded whole", () => {
    const head = Buffer.from("\ufeffTime [s],Speed [km/h]\n0,50\n", "utf16le");
    const read = (at: number, length: number) => new Uint8Array(head.subarray(at, at + length));
    const source = {file: "drive.csv", size: 3 * 2 ** 30, read};
    assert.throws(() => openSource(source, {}), {
      exitCode: 1,
      message: /drive\.csv.*text in UTF-16 is read up to 512 MiB, this has 3072; save it as UTF-8/,
    });
  });
});
