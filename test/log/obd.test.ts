import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {bytesOf, PIDS, pidRow, pidValue, readResponse} from "../../lib/log/obd/service-01.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import type {Log} from "../../lib/result/log.ts";
import {toSI} from "../../lib/units/unit.ts";
import {assertClose} from "../assert-close.ts";
import reference from "../reference/obd.json" with {type: "json"};

/** SAE J1979 / ISO 15031-5 scaling, formulas from memory, some compared with a public table (test/reference/obd.json, C4). */
const [pids, responses] = reference.rows;

const read = (text: string): Log => readLogBytes(new TextEncoder().encode(text), {name: "raw.csv"});
const filled = (log: Log, name: string) => [...requireChannel(log, name).values].filter(Number.isFinite);
const hex = (value: number) => value.toString(16).toUpperCase().padStart(2, "0");

describe("scaling of service 01", () => {
  it("gives the values of every row of C4", () => {
    for (const {pid, examples} of pids.cases as {
      pid: string;
      examples: {bytes: string; value: unknown}[];
    }[]) {
      for (const {bytes, value} of examples) {
        const expected = typeof value === "object" ? (value as {lambda: number}).lambda : (value as number);
        assertClose(pidValue(Number(pid), bytesOf(bytes)!)!, expected, 1e-9, `${pid} ${bytes}`);
      }
    }
  });
  it("reads responses as adapters print them", () => {
    for (const {line, pid, value} of responses.cases as {
      line: string;
      pid?: string;
      value: number | null;
    }[]) {
      const found = readResponse(line);
      if (value === null) assert.ok(found === null || found === "negative", line);
      else {
        assert.ok(found !== null && found !== "negative", line);
        assert.equal(found.pid, Number(pid), line);
        assert.equal(pidValue(found.pid, found.bytes), value, line);
      }
    }
    assert.equal(readResponse("7F 01 12"), "negative");
    assert.deepEqual(readResponse("7E8 03 41 0D 32 00 00 00 00"), {pid: 0x0d, bytes: [0x32]}); // padding of the bus
    assert.equal(readResponse("STOPPED"), null);
  });
  it("has one row a PID, within what its bytes can hold", () => {
    assert.equal(new Set(PIDS.map(({pid}) => pid)).size, PIDS.length);
    for (const {pid, bytes, source} of PIDS) {
      assert.ok(source.length > 0);
      assert.equal(pidValue(pid, new Array(bytes - 1).fill(0)), null);
      for (const byte of [0, 255]) assert.ok(Number.isFinite(pidValue(pid, new Array(bytes).fill(byte))));
    }
    assert.equal(pidRow(0xff), null);
  });
  it("reads back any response it is given", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...PIDS),
        fc.array(fc.integer({min: 0, max: 255}), {minLength: 4, maxLength: 4}),
        (row, all) => {
          const bytes = all.slice(0, row.bytes);
          const body = [0x41, row.pid, ...bytes].map(hex);
          for (const line of [
            body.join(" "),
            body.join(""),
            `7E8 ${hex(body.length)} ${body.join(" ")}`,
            `7E8${hex(body.length)}${body.join("")}`,
          ])
            assert.deepEqual(readResponse(line), {pid: row.pid, bytes}, line);
        },
      ),
      {seed: 3},
    );
  });
});

describe("a log of raw bytes", () => {
  // 20 rows: 40, 41 … 59 km/h (28 … 3B), engine at 30 times that (four times it in two bytes), coolant 90 °C (82)
  const rows = Array.from({length: 20}, (_, i) => {
    const [kmh, quarters] = [40 + i, 120 * (40 + i)];
    return {t: i / 10, speed: hex(kmh), a: quarters >> 8, b: quarters & 255, coolant: "82"};
  });
  const assertRead = (log: Log) => {
    const speeds = filled(log, "speed");
    assert.equal(speeds.length, 20);
    for (const [i, value] of speeds.entries()) assertClose(value, toSI(40 + i, "km/h"), 1e-12);
    assert.deepEqual(
      filled(log, "engine-speed"),
      rows.map((_, i) => 30 * (40 + i)),
    );
  };
  it("may have a column of bytes for each PID", () => {
    const log = read(
      `Time [s],010D,010C,0105\n${rows.map(({t, speed, a, b, coolant}) => `${t},${speed},${hex(a)}${hex(b)},${coolant}`).join("\n")}\n`,
    );
    assertRead(log);
    // all digits, no letter: nothing says that 82 is not what the coolant has
    assert.equal(log.channels.find(({column}) => column === "0105")!.kind, "number");
    assert.match(log.guesses.find(({what}) => what === "Engine speed (PID 0C)")!.chosen, /SAE J1979/);
  });
  it("may have a column for each byte", () => {
    assertRead(
      read(
        `Time [s],PID 0D A,PID 0C A,PID 0C B\n${rows.map(({t, speed, a, b}) => `${t},${Number.parseInt(speed, 16)},${a},${b}`).join("\n")}\n`,
      ),
    );
  });
  it("may name the PID beside its bytes, or beside the payload", () => {
    const lines = rows.flatMap(({t, speed, a, b}) => [
      {t, pid: "0D", a: Number.parseInt(speed, 16), b: null},
      {t: t + 0.05, pid: "0C", a, b},
    ]);
    assertRead(
      read(
        `Time [s],PID,A,B\n${lines.map(line => `${line.t.toFixed(2)},${line.pid},${line.a},${line.b ?? ""}`).join("\n")}\n`,
      ),
    );
    assertRead(
      read(
        `Time [s],Bus,PID,Data\n${lines.map(line => `${line.t.toFixed(2)},1,0x${line.pid},${hex(line.a)}${line.b === null ? "" : ` ${hex(line.b)}`}`).join("\n")}\n`,
      ),
    );
  });
  it("may hold the responses of an adapter, with refusals counted", () => {
    const lines = rows.flatMap(({t, speed, a, b}) => [
      `${t.toFixed(2)},41 0D ${speed}`,
      `${(t + 0.05).toFixed(2)},7E8 04 41 0C ${hex(a)} ${hex(b)}`,
    ]);
    const log = read(
      `Time [s],Response\n${lines.join("\n")}\n2.50,NO DATA\n2.60,7F 01 12\n2.70,41 A6 00 00\n`,
    );
    assertRead(log);
    assert.deepEqual(log.unread.rows, [
      {reason: "a control unit refused to answer (7F)", count: 1, first_line: 43},
      {reason: "no scale is known for PID A6", count: 1, first_line: 44},
    ]);
  });
  it("is left alone where the numbers are scaled already", () => {
    const log = read(
      `Time [s],010C,PID 0D\n${rows.map(({t}, i) => `${t},${1726 + i}.25,${50 + i}`).join("\n")}\n`,
    );
    assert.deepEqual(
      log.channels.map(({column, kind}) => [column, kind]),
      [
        ["Time [s]", "number"],
        ["010C", "number"],
        ["PID 0D", "number"],
      ],
    );
  });
});
