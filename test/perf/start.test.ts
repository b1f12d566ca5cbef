import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {listTemplates} from "../../lib/templates/store.ts";
import {stockKernelEnvironment} from "../notebooks/stock-kernel.ts";
import {requireTool} from "../require.ts";

const tool = requireTool("jupyter");
const root = fileURLToPath(new URL("../..", import.meta.url));
/** One page of the first notebook by nbconvert, times this, is what all pages together may take. */
const MOST = 9;
const ROUNDS = 3;

describe.skipIf(tool.path === null)(
  `npm start beside nbconvert with the unmodified kernel${tool.title}`,
  () => {
    const folder = mkdtempSync(path.join(tmpdir(), "fairpull-start-"));
    afterAll(() => rmSync(folder, {recursive: true}));

    it(`makes every page in at most ${MOST} times what nbconvert takes for band-time alone, as the median of ${ROUNDS}`, () => {
      const seconds = (work: () => unknown) => {
        const start = performance.now();
        work();
        return (performance.now() - start) / 1000;
      };
      const notebook = path.join(root, "notebooks", "band-time", "notebook.ipynb");
      const env = stockKernelEnvironment();
      const ours = () =>
        execFileSync(
          process.execPath,
          [path.join(root, "lib/bin/prepare.mjs"), "start", "--out", path.join(folder, "pages")],
          {
            cwd: root,
            stdio: "pipe",
          },
        );
      const theirs = () =>
        execFileSync(tool.path!, ["--execute", "--to", "html", "--output-dir", folder, notebook], {
          env,
          stdio: "pipe",
        });
      const ratios: number[] = [];
      for (let round = 0; round < ROUNDS; round++) {
        const before = seconds(theirs);
        const all = seconds(ours);
        const after = seconds(theirs); // on both sides, since other work on the machine comes and goes
        const ratio = (2 * all) / (before + after);
        ratios.push(ratio);
        console.log(
          `round ${round + 1}: npm start ${all.toFixed(1)} s for ${listTemplates().length} pages, nbconvert ${before.toFixed(1)} and ${after.toFixed(1)} s, ratio ${ratio.toFixed(1)}`,
        );
      }
      const median = ratios.sort((a, b) => a - b)[(ROUNDS - 1) / 2]!;
      console.log(`median ratio ${median.toFixed(2)}`);
      assert.ok(median <= MOST, `npm start takes ${median.toFixed(2)} times one nbconvert`);
    });
  },
);
