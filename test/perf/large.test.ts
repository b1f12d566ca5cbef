import assert from "node:assert/strict";
import {spawnSync} from "node:child_process";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {writeLog} from "./reading/write-log.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-large-"));
afterAll(() => rmSync(folder, {recursive: true}));

const COMMAND = fileURLToPath(new URL("../../lib/bin/fairpull.mjs", import.meta.url));
/** Tells at the end of a process what it took, as the last line on standard error. */
const TELL = `data:text/javascript,${encodeURIComponent(
  "process.on('exit', () => process.stderr.write('\\n' + JSON.stringify(process.resourceUsage())))",
)}`;

/** What the real command takes: seconds on the clock and of the processors, and the peak of resident memory [MB]. */
function timed(...args: string[]): {
  wallS: number;
  cpuS: number;
  peakMB: number;
  document: {passes?: unknown[]};
} {
  const start = performance.now();
  const {stdout, stderr, status} = spawnSync(
    process.execPath,
    ["--import", TELL, COMMAND, ...args, "--json"],
    {
      encoding: "utf8",
      maxBuffer: 1 << 28,
    },
  );
  const wallS = (performance.now() - start) / 1000;
  assert.equal(status, 0, stderr);
  const usage: NodeJS.ResourceUsage = JSON.parse(stderr.slice(stderr.lastIndexOf("\n") + 1));
  const cpuS = (usage.userCPUTime + usage.systemCPUTime) / 1e6;
  return {wallS, cpuS, peakMB: (usage.maxRSS * 1024) / 1e6, document: JSON.parse(stdout)};
}

const SIZES_MB = [100, 400, 1600];
/** The limit that is promised, and what a larger log may take longer for each byte than a smaller one. */
const MOST_MB = 600;
const MOST_GROWTH = 1.3;

describe("inspect and slice of logs of 100, 400 and 1600 MB", () => {
  for (const columns of [30, 4]) {
    it(`stay under ${MOST_MB} MB and take time in proportion, with ${columns} columns`, () => {
      const perByte = new Map<string, number>();
      for (const megabytes of SIZES_MB) {
        const file = join(folder, `${megabytes}.csv`);
        const {bytes} = writeLog(file, megabytes, columns);
        for (const command of ["inspect", "slice"]) {
          const band = command === "slice" ? ["--from", "60km/h", "--to", "100km/h"] : [];
          const {wallS, cpuS, peakMB, document} = timed(command, file, ...band);
          console.log(
            `${command}, ${columns} columns, ${megabytes} MB: ${wallS.toFixed(1)} s (processors ${cpuS.toFixed(1)} s), peak ${peakMB.toFixed(0)} MB`,
          );
          if (command === "slice") assert.ok(document.passes!.length > 0);
          assert.ok(peakMB < MOST_MB, `${command} of ${megabytes} MB: ${peakMB} MB`);
          const before = perByte.get(command) ?? Number.POSITIVE_INFINITY;
          assert.ok(
            cpuS / bytes < MOST_GROWTH * before,
            `${command} of ${megabytes} MB: ${(cpuS / bytes) * 1e9} ns a byte, ${before * 1e9} for a smaller log`,
          );
          perByte.set(command, Math.min(before, cpuS / bytes));
        }
        rmSync(file);
      }
    });
  }
});
