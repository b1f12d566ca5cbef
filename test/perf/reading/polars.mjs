// @ts-nocheck: only `npm run bench` has what this imports
import pl from "nodejs-polars";
import {timed} from "./timed.mjs";

await timed(file => {
  const frame = pl.readCSV(file, {inferSchemaLength: 1000});
  return [frame.height, frame.width];
});
