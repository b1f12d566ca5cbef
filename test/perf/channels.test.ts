import assert from "node:assert/strict";
import {spawnSync} from "node:child_process";
import {closeSync, linkSync, mkdtempSync, openSync, rmSync, writeFileSync, writeSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {curveBand} from "../../lib/stats/curve-band.ts";
import {splits} from "../../lib/stats/deals.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

const [CHANNELS, POINTS, RUNS] = [30, 200, 12];
const folder = mkdtempSync(join(tmpdir(), "fairpull-channels-"));
afterAll(() => rmSync(folder, {recursive: true}));

describe("exact max-t bands of 30 channels of 200 points, 6 + 6 runs", () => {
  it("take at most a third of what NumPy's matrix products take, with the same numbers", () => {
    const random = createRandom(31, "curves");
    const curves = Array.from({length: RUNS}, () =>
      Array.from({length: CHANNELS * POINTS}, () => random.normal()),
    );
    const labels = [0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 1, 0];
    const all = Array.from(splits(RUNS, RUNS / 2), deal => Int8Array.from(deal));
    const bands = () =>
      Array.from({length: CHANNELS}, (_, c) =>
        curveBand(
          {curves: curves.map(curve => curve.slice(c * POINTS, (c + 1) * POINTS)), labels},
          {deals: all},
        ),
      );
    for (let i = 0; i < 5; i++) bands();
    const times = Array.from({length: 15}, () => {
      const start = performance.now();
      bands();
      return performance.now() - start;
    }).sort((a, b) => a - b);
    console.log(`curveBand: best ${times[0].toFixed(1)} ms, median ${times[7].toFixed(1)} ms`);
    const {status, stdout} = spawnSync(
      "python3",
      [fileURLToPath(new URL("curve-band.py", import.meta.url))],
      {
        input: JSON.stringify({curves}),
        encoding: "utf8",
        maxBuffer: 1 << 26,
      },
    );
    if (status !== 0) return console.log("  NumPy: skipped, python3 has none here");
    const rival: {numpy: string; best_ms: number; median_ms: number; sorted: number[][]} = JSON.parse(stdout);
    console.log(
      `  NumPy ${rival.numpy}: best ${rival.best_ms.toFixed(1)} ms, median ${rival.median_ms.toFixed(1)} ms; ${(rival.best_ms / times[0]).toFixed(2)} times as long`,
    );
    // the same numbers: p of the most different place is the share of deals whose largest |t| reaches it
    bands().forEach((band, c) => {
      const most = Math.max(...band!.estimate.map((value, k) => Math.abs(value) / band!.standardError[k]));
      const reached = rival.sorted[c].filter(t => t >= most * (1 - 1e-9)).length;
      if (reached < 5) assertClose(Math.min(...band!.adjustedP), reached / all.length, 1e-12, `channel ${c}`);
    });
    assert.ok(times[0] <= rival.best_ms / 3, `${times[0]} ms, NumPy ${rival.best_ms} ms`);
  });
});

describe("a survey of 100 channels over 12 logs of 200,000 rows", () => {
  it("takes under 3 s after slicing and less than 600 MB", () => {
    writeDay();
    const script = `
      import * as fp from ${JSON.stringify(new URL("../../lib/dist/index.js", import.meta.url).href)};
      const session = fp.readChannelSession(${JSON.stringify(join(folder, "session.yaml"))});
      const start = performance.now();
      const day = fp.loadChannelDay(session);
      const sliced = performance.now();
      const {survey} = fp.judgeChannels(session, day);
      const rows = day.runs.reduce((sum, {log, pass}) => sum + log.timeS.filter(t => t >= pass.startS && t <= pass.startS + pass.elapsedS).length, 0);
      console.log(JSON.stringify({loadS: (sliced - start) / 1000, surveyS: (performance.now() - sliced) / 1000, looked: survey.looked, rows, peakMB: process.resourceUsage().maxRSS * 1024 / 1e6}));`;
    const {stdout, stderr} = spawnSync(process.execPath, ["--input-type=module", "-e", script], {
      encoding: "utf8",
    });
    assert.notEqual(stdout, "", stderr);
    const {loadS, surveyS, looked, rows, peakMB} = JSON.parse(stdout);
    console.log(
      `12 logs of 200,000 rows and 100 channels: read and sliced in ${loadS.toFixed(1)} s, ${rows} rows within the runs, ${looked} channels compared in ${surveyS.toFixed(2)} s, peak ${peakMB.toFixed(0)} MB`,
    );
    assert.ok(looked >= 97 && rows > 15_000);
    assert.ok(surveyS < 3, `${surveyS} s`);
    assert.ok(peakMB < 600, `${peakMB} MB`);
  });
});

/** One log of 200,000 rows at 100 Hz with twelve pulls of 17 s, under twelve names: each run is another pull of it. */
function writeDay(): void {
  const random = createRandom(32, "long logs");
  const file = openSync(join(folder, "run-1.csv"), "w");
  const others = Array.from({length: 97}, (_, c) => `Probe ${c + 1} [V]`);
  writeSync(
    file,
    `${["Time [s]", "GPS speed [km/h]", "Engine speed [r/min]", "Spark advance [deg]", ...others].join(",")}\n`,
  );
  let lines: string[] = [];
  let levels: number[] = [];
  for (let i = 0; i < 200_000; i++) {
    const at = (i / 100) % 166;
    if (i % 16_600 === 0) levels = others.map(() => 5 + 0.1 * random.normal());
    const speed = at < 60 ? 40 : at < 85 ? 40 + 3.2 * (at - 60) : Math.max(40, 120 - 2 * (at - 85));
    const cells = [
      (i / 100).toFixed(2),
      speed.toFixed(2),
      (45 * speed).toFixed(0),
      (12 + speed / 20 + levels[0] + 0.3 * random.normal()).toFixed(1),
    ];
    for (const level of levels) cells.push((level + 0.05 * random.uniform()).toFixed(2));
    lines.push(cells.join(","));
    if (lines.length === 2000) {
      writeSync(file, `${lines.join("\n")}\n`);
      lines = [];
    }
  }
  closeSync(file);
  for (let run = 2; run <= RUNS; run++) linkSync(join(folder, "run-1.csv"), join(folder, `run-${run}.csv`));
  const labels = "ABBAABABBABA";
  writeFileSync(
    join(folder, "session.yaml"),
    [
      "fairpull: 1",
      "test: channels",
      "question: Does anything move?",
      "primary: {channel: spark-advance}",
      "band: {from: 55 km/h, to: 110 km/h, gear: 3}",
      "arms: {baseline: as it was, changed: with the part}",
      "plan: {order: complete, runs: 12, seed: 1}",
      "runs:",
      ...Array.from(
        labels,
        (label, i) =>
          `  - {file: run-${i + 1}.csv, from: ${166 * i} s, to: ${166 * i + 165} s, arm: ${label === "A" ? "baseline" : "changed"}}`,
      ),
      "",
    ].join("\n"),
  );
}
