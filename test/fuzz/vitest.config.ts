import {readFileSync} from "node:fs";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {defineConfig} from "vitest/config";
import {ROOT, trackedFiles} from "../repo/tracked-files.ts";

/** `npm run fuzz`: the tests of the suite that state a property, with fast-check exchanged for one that takes its time. */
export default defineConfig({
  root: ROOT,
  resolve: {
    alias: [{find: /^fast-check$/, replacement: fileURLToPath(new URL("longer.ts", import.meta.url))}],
  },
  test: {
    include: trackedFiles().filter(
      file =>
        file.endsWith(".test.ts") && readFileSync(join(ROOT, file), "utf8").includes('from "fast-check"'),
    ),
    pool: "forks",
    maxWorkers: "100%",
    testTimeout: 3_600_000,
  },
});
