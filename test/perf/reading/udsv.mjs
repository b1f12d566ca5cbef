// @ts-nocheck: only `npm run bench` has what this imports
import {readFileSync} from "node:fs";
import {inferSchema, initParser} from "udsv";
import {timed} from "./timed.mjs";

await timed(file => {
  const text = readFileSync(file, "utf8");
  const columns = initParser(inferSchema(text)).typedCols(text);
  return columns.map(column => Float64Array.from(column));
});
