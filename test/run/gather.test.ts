import assert from "node:assert/strict";
import {mkdirSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {parse} from "yaml";
import {draftSession} from "../../lib/run/draft-session.ts";
import {byName} from "../../lib/run/folder-logs.ts";
import {gatherFolder} from "../../lib/run/gather.ts";
import {logCsv} from "../../lib/simulate/csv.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import type {LoggedChannels} from "../../lib/simulate/logger.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-gather-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

function folderOf(name: string, files: Record<string, string>): string {
  const folder = join(scratch, name);
  mkdirSync(folder);
  for (const [file, text] of Object.entries(files)) writeFileSync(join(folder, file), text);
  return folder;
}

const day = simulateDay(scenarioNamed("both-ways")!, 12);
/** Time between the pulls [s]: the whole log is an hour long. */
const BETWEEN_S = 280;

/** The runs of a day in one log, with slow driving between: speed falls to 20 km/h, wanders, and rises gently again. */
function joined(runs: readonly LoggedChannels[]): {log: LoggedChannels; startsS: number[]} {
  const random = createRandom(3, "between runs");
  const names = Object.keys(runs[0]).filter(
    name => (runs[0] as unknown as Record<string, unknown>)[name] instanceof Float64Array,
  ) as (keyof LoggedChannels)[];
  const columns = Object.fromEntries(names.map(name => [name, [] as number[]])) as Record<
    keyof LoggedChannels,
    number[]
  >;
  const startsS: number[] = [];
  const put = (row: Partial<Record<keyof LoggedChannels, number>>) => {
    for (const name of names) columns[name].push(row[name] ?? columns[name].at(-1) ?? 0);
  };
  runs.forEach((run, k) => {
    const begin = columns.timeS.length / 10;
    startsS.push(begin);
    for (let i = 0; i < run.timeS.length; i++) {
      put({...Object.fromEntries(names.map(name => [name, run[name][i]])), timeS: begin + run.timeS[i]});
    }
    const entry = (runs[k + 1] ?? run).speedMps[0];
    let speed = columns.speedMps.at(-1)!;
    for (let i = 0; i < BETWEEN_S * 10; i++) {
      const left = BETWEEN_S - i / 10;
      const wish =
        i < 200
          ? 5.5
          : left > 60
            ? 9 + 4 * Math.sin(i / 130)
            : left > 5
              ? Math.min(entry, 9 + (60 - left) / 6)
              : entry;
      speed += Math.max(-0.22, Math.min(0.07, wish - speed));
      put({
        timeS: columns.timeS.length / 10,
        speedMps: Math.max(0, speed + 0.03 * random.normal()),
        courseDeg: (i / 8) % 360,
      });
    }
  });
  return {
    log: Object.fromEntries(
      names.map(name => [name, Float64Array.from(columns[name])]),
    ) as unknown as LoggedChannels,
    startsS,
  };
}

describe("gatherFolder on an hour of runs joined with slow driving between", () => {
  const {log, startsS} = joined(day.runs);
  const text = logCsv(log);
  const folder = folderOf("hour", {"afternoon.csv": text});
  const gathered = gatherFolder(folder);
  const placed = gathered.runs.filter(({run}) => run !== null);

  it("finds each run, its span and its way, and suggests their band", () => {
    assert.ok(log.timeS[log.timeS.length - 1] > 3400);
    assert.equal(placed.length, day.runs.length);
    placed.forEach((run, k) => {
      const {direction, timeS} = day.runs[k];
      assert.ok(
        run.fromS >= startsS[k] - 1 && run.toS <= startsS[k] + timeS[timeS.length - 1] + 1.5,
        `run ${k + 1}`,
      );
      assert.deepEqual([run.direction, run.needsSpan, run.gear], [direction, true, null]);
    });
    assert.deepEqual(
      [gathered.band!.fromMps * 3.6, gathered.band!.toMps * 3.6].map(value => value.toFixed(6)),
      ["60.000000", "110.000000"],
    );
  });

  it("times each pass as the run's own log does", () => {
    const own = folderOf("own", Object.fromEntries(day.runs.map(run => [run.file, logCsv(run)])));
    const alone = gatherFolder(own).runs;
    assert.equal(alone.length, placed.length);
    placed.forEach((run, k) => {
      assertClose(run.pass!.elapsedS, alone[k].pass!.elapsedS, 1e-9, `run ${k + 1}`); // the same samples
    });
  });

  it("pairs the engine's log of the same drive, and tells the gear by it", () => {
    // Another clock: 1234.56 s later, 5 Hz, the car's own speed 2.4 % high; third gear in the pulls
    const lagS = 1234.56;
    const rows = Array.from({length: Math.floor(log.timeS.length / 2) - 40}, (_, i) => {
      const at = 30 + i / 5;
      const k = Math.round(at * 10);
      const speed = log.speedMps[k];
      const pulling = startsS.some(
        (start, run) => at > start + 2.3 && at < start + day.runs[run].truth.bandTimeS + 4,
      );
      const fields = [
        (at + lagS).toFixed(3),
        (speed * 3.6 * 1.024).toFixed(1),
        (speed * 131).toFixed(0),
        pulling ? 100 : 25,
      ];
      return fields.join(",");
    });
    const pair = folderOf("pair", {
      "satellite.csv": text,
      "engine.csv": ["time [s],vehicle speed [km/h],engine speed [r/min],throttle [%]", ...rows].join("\n"),
    });
    const both = gatherFolder(pair);
    assert.equal(both.pairs.length, 1);
    const [{satellite, engine, alignment}] = both.pairs;
    assert.deepEqual([satellite.file, engine.file], ["satellite.csv", "engine.csv"]);
    assertClose(alignment.lagS, lagS, 0.02, "lag"); // a tenth of the engine log's step
    assertClose(alignment.scale, 1 / 1.024, 0.001, "scale");
    assert.ok(alignment.correlation > 0.999);
    const runs = both.runs.filter(({run}) => run !== null);
    assert.equal(runs.length, day.runs.length);
    // the engine's log begins after the first run, which is told by its speed alone
    assert.deepEqual([runs[0].toldBy, runs[0].ratioRpmPerMps], ["speed", null]);
    for (const run of runs.slice(1)) {
      assert.deepEqual([run.toldBy, run.file], ["throttle", "satellite.csv"]);
      assertClose(run.ratioRpmPerMps!, 131, {rel: 0.03}); // half a step of 5 Hz while speed rises by 4 % a step
    }
    const [guess] = both.guesses.filter(({what}) => what === "satellite.csv: engine log");
    assert.match(
      guess.chosen,
      /^engine\.csv, whose clock shows 1234\.\d{3} s later \(± 0\.\d{3} s\), satellite speed 0\.97/,
    );
  });

  it("pairs recorders whose clocks are whole hours and a moment apart", () => {
    // Satellite log in UTC, engine log in seconds since 1970 of local time two hours ahead, 1.4 s late.
    const [apartS, startS] = [7201.4, Date.UTC(2031, 4, 17, 14, 5, 30) / 1000];
    const stamps = Array.from(log.timeS, time => new Date(1000 * (startS + time)).toISOString());
    const satellite = stamps.map((stamp, i) => `${stamp},${(log.speedMps[i] * 3.6).toFixed(2)},412.0`);
    const engine = Array.from({length: Math.floor(log.timeS.length / 2) - 40}, (_, i) => {
      const at = 30 + i / 5;
      const speed = log.speedMps[Math.round(at * 10)];
      return `${(startS + at + apartS).toFixed(3)},${(speed * 3.6).toFixed(1)},${(speed * 131).toFixed(0)}`;
    });
    const {pairs} = gatherFolder(
      folderOf("hours", {
        "a.csv": ["UTC,GPS speed [km/h],Altitude [m]", ...satellite].join("\n"),
        "b.csv": ["Epoch [s],Vehicle speed [km/h],RPM", ...engine].join("\n"),
      }),
    );
    assert.equal(pairs.length, 1);
    const [{satellite: one, engine: other, alignment}] = pairs;
    assertClose(other.clockZeroS! + alignment.lagS - one.clockZeroS!, apartS, 0.02, "clocks apart");
  });

  it("reads logs of one recorder though their columns differ", () => {
    const [head, ...rows] = logCsv(day.runs[0]).trimEnd().split("\n");
    const shorter = (line: string) => line.split(",").slice(0, -2).join(",");
    const moved = (line: string) => line.split(",").reverse().join(",");
    const {runs, skipped} = gatherFolder(
      folderOf("columns", {
        "a.csv": [head, ...rows].join("\n"),
        "b.csv": [head, ...rows].map(shorter).join("\n"),
        "c.csv": [head, ...rows].map(moved).join("\n"),
      }),
    );
    assert.deepEqual(skipped, []);
    assert.equal(runs.length, 3);
    assert.equal(new Set(runs.map(({pass}) => pass!.elapsedS)).size, 1);
  });

  it("makes no pair of another drive, nor where repeats of a pull leave it open", () => {
    const other = simulateDay(scenarioNamed("both-ways")!, 99);
    const engineText = ({timeS, speedMps}: LoggedChannels) =>
      ["time [s],vehicle speed [km/h],engine speed [r/min]"]
        .concat(
          Array.from(
            timeS,
            (t, i) => `${t.toFixed(3)},${(speedMps[i] * 3.6).toFixed(1)},${(speedMps[i] * 131).toFixed(0)}`,
          ),
        )
        .join("\n");
    const short = folderOf("short", {
      "run-01.csv": logCsv(day.runs[0]),
      "engine-a.csv": engineText(other.runs[0]),
      "engine-b.csv": engineText(other.runs[2]),
    });
    const {pairs, guesses, runs} = gatherFolder(short);
    assert.deepEqual(pairs, []);
    assert.ok(
      guesses.some(
        ({what, chosen}) => what === "engine log" && /equally well|no engine log is of/.test(chosen),
      ),
    );
    // nothing is lost, and no drive is counted twice
    assert.deepEqual(
      runs.map(({file, run}) => [file, run]),
      [
        ["engine-a.csv", null],
        ["engine-b.csv", null],
        ["run-01.csv", 1],
      ],
    );
    assert.match(runs[0].leftOut!, /the car's own speed alone, beside satellite logs/);

    // without a satellite log the car's own speed has to do, and that is said
    const alone = folderOf("alone", {"engine.csv": engineText(other.runs[0])});
    const found = gatherFolder(alone);
    assert.deepEqual(
      found.runs.map(({file, run}) => [file, run]),
      [["engine.csv", 1]],
    );
    assert.ok(found.guesses.some(({chosen}) => /the car's own speed, "vehicle speed/.test(chosen)));
  });

  it("drafts a session that any editor and any file name survive", () => {
    const odd = folderOf("odd", {'a: #b, "c" é.csv': logCsv(day.runs[0]), null: logCsv(day.runs[1])});
    const draft = draftSession(gatherFolder(odd), {
      schema: "x/session.json",
      page: "p.html",
      pathOf: file => file,
      columns: {speed: "speed [km/h]"},
    });
    const written = parse(draft);
    assert.deepEqual(
      written.runs.map((run: {file: string}) => run.file),
      ['a: #b, "c" é.csv', "null"],
    );
    assert.deepEqual(written.columns, {speed: "speed [km/h]"});
    assert.match(draft, /^# yaml-language-server: \$schema=x\/session\.json\n/);
  });

  it("writes the gear where it is logged, and that of the band where all runs share it", () => {
    const geared = (k: number, gear: number) => {
      const [head, ...rows] = logCsv(day.runs[k]).trimEnd().split("\n");
      return [`${head},gear`, ...rows.map((row, i) => `${row},${i < 5 ? 2 : gear}`)].join("\n");
    };
    const draftOf = (folder: string) =>
      parse(draftSession(gatherFolder(folder), {schema: "s", page: "p", pathOf: file => file}));
    const same = draftOf(folderOf("same gear", {"a.csv": geared(0, 3), "b.csv": geared(1, 3)}));
    assert.deepEqual([same.band.gear, ...same.runs.map((run: {gear: number}) => run.gear)], [3, 3, 3]);
    const mixed = draftOf(folderOf("mixed gears", {"a.csv": geared(0, 3), "b.csv": geared(1, 4)}));
    assert.deepEqual(
      [mixed.band.gear, ...mixed.runs.map((run: {gear: number}) => run.gear)],
      [undefined, 3, 4],
    );
  });

  it("writes spans only where a log holds more than the run", () => {
    const draft = parse(draftSession(gathered, {schema: "s", page: "p", pathOf: file => file}));
    assert.equal(draft.runs.length, day.runs.length);
    draft.runs.forEach((run: {from: string; to: string}, k: number) => {
      assertClose(Number.parseFloat(run.from), placed[k].fromS, 0.01);
      assertClose(Number.parseFloat(run.to), placed[k].toS, 0.01);
    });
  });
});

describe("the order of runs", () => {
  it("is by clock where every log has one, whatever the names", () => {
    const clocked = (k: number, clock: string) => {
      const [head, ...rows] = logCsv(day.runs[k]).trimEnd().split("\n");
      const start = Date.parse(`2031-05-17T${clock}Z`);
      const stamp = (row: string) => new Date(start + 1000 * Number(row.split(",")[0])).toISOString();
      return [head.replace("time [s]", "time"), ...rows.map(row => row.replace(/^[^,]+/, stamp(row)))].join(
        "\n",
      );
    };
    const folder = folderOf("clocks", {
      "a.csv": clocked(1, "14:30:00"),
      "b.csv": clocked(0, "13:10:00"),
      "c.csv": clocked(2, "15:00:30"),
    });
    const {order, runs} = gatherFolder(folder);
    assert.equal(order, "clock");
    assert.deepEqual(
      runs.map(({file, at, direction}) => [file, at!.slice(0, 16), direction]),
      [
        ["b.csv", "2031-05-17T13:10", "out"],
        ["a.csv", "2031-05-17T14:30", "back"],
        ["c.csv", "2031-05-17T15:00", "out"],
      ],
    );
  });
  it("is by name with numbers by value where not", () => {
    const names = ["run-10.csv", "run-2.csv", "run-02.csv", "Run-1.csv", "b/run-1.csv"];
    assert.deepEqual(names.sort(byName), [
      "Run-1.csv",
      "b/run-1.csv",
      "run-02.csv",
      "run-2.csv",
      "run-10.csv",
    ]);
  });
});
