// @ts-nocheck: only `npm run bench` has what this imports
import {readFileSync} from "node:fs";
import papa from "papaparse";
import {timed} from "./timed.mjs";

await timed(file => {
  const {data} = papa.parse(readFileSync(file, "utf8"), {dynamicTyping: true, skipEmptyLines: true});
  return data[0].map((_, k) => Float64Array.from({length: data.length - 1}, (_, row) => data[row + 1][k]));
});
