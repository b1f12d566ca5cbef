import {mkdtempSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";

/** One run of a made day. Its speed rises in a straight line, so its band time is exactly `bandTimeS`. */
export interface MadeRun {
  arm: "baseline" | "changed";
  /** time from 60 to 110 km/h [s] */
  bandTimeS: number;
  /** further keys of the run in the session, in YAML flow style: "direction: out" */
  keys?: string;
  /** header and cell of one more column: the cell gets the time since the start [s] and the speed [km/h] */
  extra?: [header: string, cell: (timeS: number, speedKmh: number) => string | number];
  /** replaces the whole text of the log */
  text?: string;
  stepS?: number;
  speedHeader?: string;
}

export const FROM_KMH = 60;
export const TO_KMH = 110;

/** The log of a run: 2 s of steady 55 km/h, a straight rise to 115 km/h, 1 s steady. */
export function madeLog({
  bandTimeS,
  extra,
  text,
  stepS = 0.1,
  speedHeader = "speed [km/h]",
}: MadeRun): string {
  if (text !== undefined) return text;
  const slope = (TO_KMH - FROM_KMH) / bandTimeS;
  const riseS = (115 - 55) / slope;
  const rows = [`time [s],${speedHeader}${extra ? `,${extra[0]}` : ""}`];
  for (let i = 0; i * stepS <= 3 + riseS; i++) {
    const timeS = i * stepS;
    const speed = Math.min(115, 55 + slope * Math.max(0, timeS - 2));
    rows.push(`${timeS.toFixed(3)},${speed.toFixed(9)}${extra ? `,${extra[1](timeS, speed)}` : ""}`);
  }
  return `${rows.join("\n")}\n`;
}

/** Writes logs and session of a made day into a new folder; returns the path of the session. */
export function madeDay(runs: readonly MadeRun[], keys = "plan: {order: complete}"): string {
  const folder = mkdtempSync(join(tmpdir(), "made-day-"));
  const lines = runs.map((run, i) => {
    const file = `run-${String(i + 1).padStart(2, "0")}.csv`;
    writeFileSync(join(folder, file), madeLog(run));
    return `  - {file: ${file}, arm: ${run.arm}${run.keys ? `, ${run.keys}` : ""}}`;
  });
  const session = join(folder, "session.yaml");
  writeFileSync(
    session,
    `fairpull: 1
test: comparison
question: Does the made part do anything?
primary: band-time
worthwhile: 0.15 s
band: {from: ${FROM_KMH} km/h, to: ${TO_KMH} km/h}
arms: {baseline: old part, changed: new part}
${keys}
runs:
${lines.join("\n")}
`,
  );
  return session;
}

/** Runs in the order of a word like "ABBA" with the given band times. */
export function madeRuns(
  order: string,
  bandTimes: readonly number[],
  more: (i: number) => Partial<MadeRun> = () => ({}),
): MadeRun[] {
  return [...order].map((letter, i) => ({
    arm: letter === "A" ? "baseline" : "changed",
    bandTimeS: bandTimes[i],
    ...more(i),
  }));
}
