import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdirSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {requireTool} from "../require.ts";

const tool = requireTool("jupyter");
const root = fileURLToPath(new URL("../..", import.meta.url));
const notebook = path.join(root, "notebooks", "band-time", "notebook.ipynb");
const PAIRS = 5;

describe.skipIf(tool.path === null)(
  `publishing beside nbconvert with the unmodified kernel${tool.title}`,
  () => {
    const folder = mkdtempSync(path.join(tmpdir(), "fairpull-bench-"));
    afterAll(() => rmSync(folder, {recursive: true}));

    it("takes at most 0.8 times as long, as the median of five alternating pairs", () => {
      const kernel = path.join(folder, "kernels", "tslab");
      mkdirSync(kernel, {recursive: true});
      const argv = [
        process.execPath,
        path.join(root, "node_modules/tslab/bin/tslab"),
        "kernel",
        "--config-path",
        "{connection_file}",
      ];
      writeFileSync(
        path.join(kernel, "kernel.json"),
        JSON.stringify({argv, display_name: "TypeScript", language: "typescript"}),
      );
      const env = {...process.env, JUPYTER_DATA_DIR: folder, JUPYTER_PATH: folder};
      const ways = {
        fairpull: () =>
          execFileSync(process.execPath, [
            path.join(root, "lib/bin/fairpull.mjs"),
            "publish",
            notebook,
            "-o",
            path.join(folder, "page.html"),
          ]),
        nbconvert: () =>
          execFileSync(tool.path!, ["--execute", "--to", "html", "--output-dir", folder, notebook], {
            env,
            stdio: "pipe",
          }),
      };
      const seconds = (work: () => unknown) => {
        const start = performance.now();
        work();
        return (performance.now() - start) / 1000;
      };
      const ratios: number[] = [];
      for (let pair = 0; pair < PAIRS; pair++) {
        const [ours, theirs] =
          pair % 2 === 0
            ? [seconds(ways.fairpull), seconds(ways.nbconvert)]
            : [seconds(ways.nbconvert), seconds(ways.fairpull)].reverse();
        ratios.push(ours! / theirs!);
        console.log(
          `pair ${pair + 1}: fairpull ${ours!.toFixed(2)} s, nbconvert ${theirs!.toFixed(2)} s, ratio ${ratios.at(-1)!.toFixed(2)}`,
        );
      }
      const median = ratios.sort((a, b) => a - b)[(PAIRS - 1) / 2]!;
      console.log(`median ratio ${median.toFixed(2)}`);
      assert.ok(median <= 0.8, `publishing takes ${median.toFixed(2)} times as long as nbconvert`);
    });
  },
);
