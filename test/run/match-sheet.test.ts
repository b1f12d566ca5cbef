import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {InputError} from "../../lib/result/error.ts";
import type {RunSheet, SheetRow} from "../../lib/result/run-sheet.ts";
import {matchSheet} from "../../lib/run/match-sheet.ts";
import {readSheet} from "../../lib/run/read-sheet.ts";

function sheet(starts: readonly (string | null)[], settling = 0): RunSheet {
  const rows = starts.map(
    (start, i): SheetRow => ({
      run: i < settling ? null : i - settling + 1,
      arm: i < settling ? null : i % 2 ? "changed" : "baseline",
      direction: "out",
      driven: true,
      isVoid: false,
      cells: start === null ? {} : {start},
    }),
  );
  return {
    format: "fairpull.sheet/1",
    locked: `sha256:${"0".repeat(64)}`,
    saves: 1,
    saved: "2031-05-17T15:00:00Z",
    day: "",
    ticked: [],
    rows,
  };
}
const runsAt = (...times: (string | null)[]) => times.map(at => ({at}));

describe("matchSheet", () => {
  it("finds rows by clock, whatever the zone of the log", () => {
    const typed = sheet(["14:00", "14:08:30", "14:16"], 1);
    for (const hour of ["14", "12", "20"]) {
      const {rows, by, notes} = matchSheet(
        runsAt(`2031-05-17T${hour}:00:40`, `2031-05-17T${hour}:09:00`, `2031-05-17T${hour}:16:20`),
        typed,
        "s",
      );
      assert.equal(by, "clock");
      assert.deepEqual(rows, typed.rows);
      assert.deepEqual(notes, []);
    }
  });
  it("tells of rows without a run and runs without a row", () => {
    const typed = sheet(["14:00", "14:08", "14:16", "14:24", "14:32"]);
    const {rows, notes} = matchSheet(
      runsAt("14:00:20", "14:08:10", "14:21:00", "14:24:30", "14:32:10"),
      typed,
      "s",
    );
    assert.deepEqual(
      rows.map(row => row?.run ?? null),
      [1, 2, null, 4, 5],
    );
    assert.deepEqual(notes, [
      "row 3 is ticked as driven at 14:16, and no log holds a run of that time",
      "run 3 of the logs is on no row of the sheet by its time",
    ]);
  });
  it("goes by order where a time is missing, only where the numbers agree", () => {
    assert.equal(matchSheet(runsAt(null, null), sheet([null, "14:00"]), "s").by, "order");
    assert.equal(matchSheet(runsAt(null), sheet([null, null], 1), "s").rows[0]!.run, 1);
    assert.throws(
      () => matchSheet(runsAt(null, null, null), sheet([null, null]), "s"),
      /2 rows are ticked as driven, and the logs hold 3 runs/,
    );
  });
  it("gives each run one row at most, in order", () => {
    const time = fc.integer({min: 0, max: 86_399}).map(s => new Date(s * 1000).toISOString().slice(11, 19));
    fc.assert(
      fc.property(
        fc.array(time, {minLength: 1, maxLength: 8}),
        fc.array(time, {minLength: 1, maxLength: 8}),
        (a, b) => {
          let rows: (SheetRow | null)[];
          try {
            rows = matchSheet(runsAt(...a.sort()), sheet(b.sort()), "s").rows;
          } catch (error) {
            assert.ok(error instanceof InputError);
            return;
          }
          const places = rows.flatMap(row => (row === null ? [] : [row.run!]));
          assert.deepEqual(
            places,
            [...new Set(places)].sort((x, y) => x - y),
          );
        },
      ),
      {numRuns: 100, seed: 31},
    );
  });
});

describe("readSheet", () => {
  it("reads a sheet or refuses it in words, whatever it is given", () => {
    const good = JSON.stringify(sheet(["14:00"]));
    assert.equal(readSheet(good, "s").rows.length, 1);
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.json(),
          fc
            .tuple(fc.nat(good.length), fc.string())
            .map(([at, more]) => good.slice(0, at) + more + good.slice(at + 1)),
        ),
        text => {
          try {
            readSheet(text, "s");
          } catch (error) {
            assert.ok(error instanceof InputError);
            assert.match(error.message, /no file saved by a run sheet/);
          }
        },
      ),
      {numRuns: 300, seed: 8},
    );
  });
});
