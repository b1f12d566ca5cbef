#!/usr/bin/env node
import {existsSync} from "node:fs";
import {fileURLToPath} from "node:url";

// Committed as it is, because npm links a workspace's command only if the file is there at install time.
const built = new URL("../dist/cli/main.js", import.meta.url);
if (existsSync(fileURLToPath(built))) {
  const {main} = await import(built.href);
  process.exitCode = await main(process.argv.slice(2));
} else {
  process.stderr.write(`fairpull: ${fileURLToPath(built)} is missing; run: npm run build\n`);
  process.exitCode = 1;
}
