import assert from "node:assert/strict";
import {spawn} from "node:child_process";
import {once} from "node:events";
import {mkdir, mkdtemp, readFile, rm, writeFile} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {inspect} from "node:util";
import {afterAll, beforeAll, describe, it} from "vitest";
import {type ExecuteOptions, executeNotebook} from "../../lib/dist/kernel/execute.js";
import {notebookOf} from "./notebook-of.ts";

let folder: string;

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull kernel "));
});
afterAll(() => rm(folder, {recursive: true}));

type Cells = Parameters<typeof notebookOf>;

async function run(cells: Cells, options: Partial<ExecuteOptions> = {}) {
  return executeNotebook(notebookOf(...cells), {folder, ...options});
}

/** Text of every cell: streams, plain text of values, and "ename: evalue" of errors. */
async function texts(...cells: Cells): Promise<string[]> {
  return (await run(cells)).cells.map(cell =>
    cell.outputs
      .map(output => {
        if (output.output_type === "stream") return output.text;
        if (output.output_type === "error") return `${output.ename}: ${output.evalue}`;
        return String(output.data["text/plain"]);
      })
      .join("|"),
  );
}

describe("executeNotebook", () => {
  it("keeps variables, lets them be declared anew, and shows last values", async () => {
    const cells = await texts(
      "const a = 1;\nlet b = 2;\na + b",
      'const a = "word";\na.length + b',
      "enum E { x = 3 }\ninterface I { n: number }\nclass C implements I { n = E.x }",
      "new C().n",
      "null",
      "b = 5;",
      "b",
    );
    assert.deepEqual(cells, ["3", "6", "", "3", "", "5", "5"]);
  });

  it("awaits at top level, in loops too", async () => {
    assert.deepEqual(
      await texts(
        "await Promise.resolve(4)",
        "for await (const x of [Promise.resolve(7)]) console.log(x)",
        "[1, 2].findLast(x => x < 2)",
      ),
      ["4", "7\n", "1"],
    );
  });

  it("keeps what a cell prints, from wherever it prints it, with that cell", async () => {
    const cells = await texts(
      'console.log("a");\nconsole.error("b");\nprocess.stdout.write("c", () => console.log("called back"));\nundefined',
      'setTimeout(() => console.log("from cell 2"), 100);\nundefined',
      'import fs from "node:fs";\nfs.writeSync(1, "direct");\nawait new Promise(done => setTimeout(done, 200));',
      'import {execSync} from "node:child_process";\nexecSync("echo grandchild", {stdio: "inherit"});\nundefined',
    );
    assert.deepEqual(cells, ["a\n|b\n|ccalled back\n", "from cell 2\n", "direct", "grandchild\n"]);
  });

  it("shows whole MIME bundles, in order, also in the middle of a cell", async () => {
    const show = (data: string) => `({[Symbol.for("Jupyter.display")]: () => (${data})})`;
    const {cells} = await run([
      `const display = (globalThis as any)[Symbol.for("fairpull.display")];
       display(${show('{"text/html": "<b>1</b>", "application/x+json": "{\\"a\\": 1}", "image/png": new Uint8Array([1, 2])}')});
       display(2);
       import * as tslab from "tslab";
       tslab.display.html("<i>3</i>");
       ${show('Promise.resolve({"text/markdown": "**4**"})')}`,
    ]);
    // Node 24 writes symbols without brackets
    const asText = inspect({[Symbol.for("Jupyter.display")]: () => null});
    assert.deepEqual(
      cells[0]!.outputs.map(output => ("data" in output ? output.data : output)),
      [
        {
          "text/html": "<b>1</b>",
          "application/x+json": {a: 1},
          "image/png": "AQI=",
          "text/plain": asText,
        },
        {"text/plain": "2"},
        {"text/html": "<i>3</i>"},
        {
          "text/markdown": "**4**",
          "text/plain": asText,
        },
      ],
    );
  });

  it("names cell, line and column of an error, through types and calls into earlier cells", async () => {
    const {failed} = await run([
      'interface A {\n  x: number;\n}\nfunction bad(a: A) {\n  throw new RangeError("too far: " + a.x);\n}',
      "// a comment\nconst q: { x: number } = { x: 1 };\n\nbad(q);",
      "throw 1",
    ]);
    assert.equal(failed!.number, 2);
    assert.deepEqual(failed!.error, {
      ename: "RangeError",
      evalue: "too far: 1",
      traceback: ["RangeError: too far: 1", "    at bad (cell 1:5:9)", "    at cell 2:4:1"],
    });
  });

  it("reports type errors with the source line, and runs nothing after them", async () => {
    const {cells, failed} = await run(["1", 'const n: number = "x";', "3"]);
    assert.equal(cells.length, 2);
    assert.deepEqual(failed!.error, {
      ename: "TypeScriptError",
      evalue: "line 1: Type 'string' is not assignable to type 'number'.",
      traceback: [
        "TypeScript found 1 problem; the cell was not run.",
        "line 1, column 7: Type 'string' is not assignable to type 'number'.",
        '  const n: number = "x";',
        "        ~",
      ],
    });
  });

  const failures: [string, string, string][] = [
    [
      "process.exit",
      "process.exit(3)",
      "ExitNotAllowed: process.exit(3) was called; a cell must not end the run",
    ],
    ["a thrown text", 'throw "word"', "Thrown: 'word'"],
    ["a thrown null", "throw null", "Thrown: null"],
    ["a rejection nobody handles", 'Promise.reject(new Error("lost"));\n5', "Error: lost"],
    [
      "a killed process",
      'process.kill(process.pid, "SIGKILL");\nawait new Promise(() => setTimeout(() => {}, 5000));',
      "ProcessEnded: the process that runs the cells ended by itself (SIGKILL)",
    ],
    [
      "an error in a timer",
      'setTimeout(() => { throw new Error("late") }, 20);\nawait new Promise(() => setTimeout(() => {}, 5000));',
      "Error: late",
    ],
  ];
  for (const [title, source, message] of failures) {
    it(`reports ${title} as the error of the cell`, async () => {
      const {failed, cells} = await run(["0", source, "2"]);
      assert.equal(`${failed!.error!.ename}: ${failed!.error!.evalue}`, message);
      assert.equal(failed!.number, 2);
      assert.equal(cells.length, 2);
    });
  }

  it("blames the cell that started a timer, not the one during which it failed", async () => {
    const {failed} = await run([
      'setTimeout(() => { throw new Error("cell 1 did it") }, 20);\nundefined',
      "await new Promise(done => setTimeout(done, 150));",
    ]);
    assert.equal(failed!.number, 1);
    assert.equal(failed!.error!.evalue, "cell 1 did it");
  });

  it("stops an endless loop at the time limit", async () => {
    const {failed} = await run(["while (true) {}"], {cellTimeLimitS: 0.3});
    assert.equal(
      failed!.error!.evalue,
      "the cell ran longer than 0.3 s and was stopped; every variable is gone",
    );
  });

  it("says in words that memory ran out", async () => {
    const {failed} = await run(
      ["const all: number[][] = [];\nwhile (true) all.push(new Array(1000).fill(all.length));"],
      {
        memoryMib: 64,
      },
    );
    assert.equal(failed!.error!.evalue, "the cell ran out of memory (limit 64 MiB)");
    assert.deepEqual(
      failed!.outputs.map(output => output.output_type),
      ["error"],
    );
  });

  it("goes on after an expected error, without what that cell declared", async () => {
    const {failed, cells} = await run([
      "const a = 1;",
      ['const b = 2;\nthrow new Error("meant")', "expected-error"],
      "a",
      "b",
    ]);
    assert.equal(cells[1]!.error!.evalue, "meant");
    assert.equal(failed!.number, 4);
    assert.match(failed!.error!.evalue, /Cannot find name 'b'/);
  });

  it("fails when an expected error does not come", async () => {
    const {failed} = await run([["1", "expected-error"]]);
    assert.equal(failed!.error!.evalue, "the cell is tagged expected-error, but it ran without an error");
  });

  it("collects the files that the library says it read, relative to the folder", async () => {
    const {inputs} = await run([
      'const report = (globalThis as any)[Symbol.for("fairpull.inputs")];\nreport("a.csv", "11");\nreport(process.cwd() + "/logs/b.csv", "22");\nreport("a.csv", "11");',
    ]);
    assert.deepEqual(inputs, [
      {file: "a.csv", sha256: "11"},
      {file: "logs/b.csv", sha256: "22"},
    ]);
  });

  it("says when work goes on after the last cell", async () => {
    const {unfinished, failed} = await run(["setInterval(() => {}, 1000);\nundefined"]);
    assert.equal(unfinished, true);
    assert.equal(failed, null);
  });

  it("finds our packages in a folder without node_modules, and the folder's own where it has them", async () => {
    const own = path.join(folder, "own");
    const stub = path.join(own, "node_modules", "jstat");
    await mkdir(stub, {recursive: true});
    await writeFile(path.join(stub, "index.js"), 'module.exports = {mine: "yes"};');
    await writeFile(path.join(stub, "package.json"), '{"name": "jstat", "version": "9.9.9"}');
    await writeFile(
      path.join(own, "helper.ts"),
      "export function twice(x: number): number {\n  return 2 * x;\n}\n",
    );
    const [ours] = await texts('import jstat from "jstat";\njstat.normal.cdf(0, 0, 1)');
    assert.equal(ours, "0.5");
    const {cells} = await executeNotebook(
      notebookOf(
        'import jstat from "jstat";\nimport {twice} from "./helper";\njstat.mine + twice(4)',
        "process.cwd()",
      ),
      {folder: own},
    );
    assert.deepEqual(
      cells.map(cell => cell.outputs.map(output => ("data" in output ? output.data["text/plain"] : output))),
      [["'yes8'"], [`'${own}'`]],
    );
  });

  it("takes an endless cell with it when it is told to end", async () => {
    const execute = new URL("../../lib/dist/kernel/execute.js", import.meta.url).href;
    const notebook = JSON.stringify(notebookOf("console.log(process.pid)", "while (true) {}"));
    const script = `import {executeNotebook} from "${execute}";
      executeNotebook(${notebook}, {folder: ".", onOutput: (_cell, output) => console.log(output.text)});`;
    const parent = spawn(process.execPath, ["--input-type=module", "--eval", script], {cwd: folder});
    const [text] = await once(parent.stdout, "data");
    parent.kill("SIGTERM");
    const [, signal] = await once(parent, "exit");
    assert.equal(signal, "SIGTERM");
    assert.ok(await endsWithin(Number(String(text)), 5000), "the process of the cells is still running");
  });

  it("tells progress and outputs while it runs", async () => {
    const seen: string[] = [];
    await run(["1", "2"], {
      onCell: (done, total) => seen.push(`${done}/${total}`),
      onOutput: (cell, output) => seen.push(`${cell.id} ${output.output_type}`),
    });
    assert.deepEqual(seen, ["cell-1 execute_result", "1/2", "cell-2 execute_result", "2/2"]);
  });
});

/** True once a process is gone, or is only waiting to be collected by its new parent. */
async function endsWithin(pid: number, limitMs: number): Promise<boolean> {
  for (let waited = 0; waited < limitMs; waited += 20) {
    try {
      process.kill(pid, 0);
      const state = /^\d+ \(.*\) (\w)/.exec(await readFile(`/proc/${pid}/stat`, "utf8").catch(() => ""));
      if (state?.[1] === "Z") return true;
    } catch {
      return true;
    }
    await new Promise(done => setTimeout(done, 20));
  }
  return false;
}
