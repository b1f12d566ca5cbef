import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {readLogBytes} from "../../lib/log/read.ts";
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

describe("a log read for some quantities", () => {
  const whole = readLogBytes(LOG);
  const only = {quantities: ["speed"], aboveBytes: 0};
  it("has the same times, ranges, counts and guesses as the whole one, and values of those quantities alone", () => {
    const log = readLogBytes(LOG, {only: {...only, others: "ranges"}});
    assert.deepEqual(log.timeS, whole.timeS);
    assert.equal(log.timeS.length, 399);
    assert.deepEqual(log.guesses, whole.guesses);
    assert.deepEqual(log.unread, whole.unread);
    assert.match(
      log.unread.rows.map(({reason}) => reason).join(),
      /-9999 stands for no value.*655.35, all bits set/,
    );
    const held = log.channels.filter(({values}) => values.length > 0).map(({column}) => column);
    assert.deepEqual(held, ["Time [s]", "Speed [km/h]", "Note", "Lambda", "Lambda"]);
    for (const [k, channel] of log.channels.entries()) {
      const {values, range, ...others} = channel;
      const {values: all, ...same} = whole.channels[k];
      assert.deepEqual(others, same);
      if (values.length > 0) assert.deepEqual(values, all);
      else assert.deepEqual(range, ranges(whole.channels[k]), channel.column);
    }
  });
  it("may leave the others out", () => {
    const log = readLogBytes(LOG, {only: {...only, others: "left out"}});
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
    assert.deepEqual(readLogBytes(LOG, {only: {quantities: [], others: "left out"}}), whole);
    const declared = {columns: {"oil-pressure": "Extra [bar]"}};
    const log = readLogBytes(LOG, {...declared, only: {quantities: [], others: "left out", aboveBytes: 0}});
    const extra = log.channels.find(({name}) => name === "oil-pressure");
    assert.deepEqual(
      extra,
      readLogBytes(LOG, declared).channels.find(({name}) => name === "oil-pressure"),
    );
  });
});
