import {closeSync, openSync, writeSync} from "node:fs";
import {createRandom} from "../../../lib/stats/random.ts";

/** Writes a log of numbers as loggers do: time, a speed that rises and falls, and columns of 0 to 4 decimals. */
export function writeLog(file: string, megabytes: number, columns: number): {rows: number; bytes: number} {
  const random = createRandom(1, "reading");
  const tails = Array.from({length: 5000}, () =>
    Array.from({length: columns - 2}, (_, k) =>
      ((random.uniform() - 0.3) * 10 ** (1 + (k % 4))).toFixed(k % 5),
    ).join(","),
  );
  const out = openSync(file, "w");
  const names = Array.from({length: columns - 2}, (_, k) => `channel ${k + 1}`);
  let bytes = writeSync(out, `${["Time [s]", "Speed [km/h]", ...names].join(",")}\n`);
  let rows = 0;
  while (bytes < megabytes * 1e6) {
    let text = "";
    for (const tail of tails) {
      text += `${(rows / 100).toFixed(2)},${(60 + 50 * Math.sin(rows / 3000)).toFixed(2)},${tail}\n`;
      rows++;
    }
    bytes += writeSync(out, text);
  }
  closeSync(out);
  return {rows, bytes};
}
