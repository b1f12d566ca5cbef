// @ts-nocheck: only `npm run bench` has what this imports
import {DuckDBInstance} from "@duckdb/node-api";
import {timed} from "./timed.mjs";

const connection = await (await DuckDBInstance.create(":memory:")).connect();

await timed(async file => {
  await connection.run(`create or replace table log as select * from read_csv('${file}', header = true)`);
  const rows = await connection.runAndReadAll("select count(*) from log");
  const columns = await connection.runAndReadAll("describe log");
  return [Number(rows.getRows()[0][0]), columns.getRows().length];
});
