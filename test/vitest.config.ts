import {fileURLToPath} from "node:url";
import {defineConfig} from "vitest/config";

/** Suites that take minutes have commands of their own (`npm run calibrate`, `bench`, `fuzz`). */
const LONG = ["test/perf/**", "test/calibrate/**", "test/fuzz/**"];

export default defineConfig({
  root: fileURLToPath(new URL("..", import.meta.url)),
  test: {
    include: ["test/**/*.test.ts"],
    setupFiles: ["test/same-every-time.ts"],
    exclude: [...LONG, "**/node_modules/**"],
    // Processes, not threads: some tests change the folder or stop what they started. One for every core; vitest leaves
    // one core out, which is half of a small machine.
    pool: "forks",
    maxWorkers: "100%",
    testTimeout: 30_000,
    hookTimeout: 120_000,
  },
});
