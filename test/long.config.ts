import {fileURLToPath} from "node:url";
import {defineConfig} from "vitest/config";

/** The suites that take minutes: `npm run calibrate` and `npm run bench` name their folder with --dir. */
export default defineConfig({
  root: fileURLToPath(new URL("..", import.meta.url)),
  test: {
    include: ["**/*.test.ts"],
    exclude: ["**/node_modules/**"],
    testTimeout: 3_600_000,
    fileParallelism: false, // timings are measured, and a suite that fills every core is no faster in pairs
  },
});
