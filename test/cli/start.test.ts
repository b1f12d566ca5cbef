import assert from "node:assert/strict";
import {existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {afterEach, beforeEach, describe, it} from "vitest";
import {progressBar} from "../../lib/cli/progress.ts";
import {start} from "../../lib/cli/start.ts";
import type {PublishedPage, PublishOptions} from "../../lib/publish/publish.ts";
import {InputError} from "../../lib/result/error.ts";

let root: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), "fairpull start "));
  for (const name of ["first", "second", "third"]) {
    mkdirSync(join(root, "notebooks", name), {recursive: true});
    writeFileSync(join(root, "notebooks", name, "notebook.ipynb"), "{}");
  }
  mkdirSync(join(root, "notebooks", "no-notebook-here"));
});
afterEach(() => rmSync(root, {recursive: true}));

/** Collects what is written, as a pipe or as a terminal. */
function stream(isTTY: boolean) {
  return {
    isTTY,
    columns: 60,
    text: "",
    write(text: string) {
      this.text += text;
    },
  };
}

/** Publishing that notes what it was asked for; `failing` names notebooks that end in an error. */
function publishing(failing: Record<string, unknown> = {}) {
  const indexed: string[] = [];
  const files: string[] = [];
  return {
    indexed,
    files,
    async publishNotebook(file: string, {out, onCell}: PublishOptions): Promise<PublishedPage> {
      const name = dirname(file).split(/[\\/]/).at(-1) ?? "";
      files.push(file);
      onCell?.(1, 4);
      if (name in failing) throw failing[name];
      return {
        page: out,
        title: name,
        verdict: name === "third" ? null : "Shown better: −0.21 s",
        result: null,
        date: null,
        car: null,
        template: null,
      };
    },
    async publishIndex(pages: readonly PublishedPage[], {out}: {out: string}) {
      indexed.push(...pages.map(({page}) => page));
      return out;
    },
  };
}

async function run(work: ReturnType<typeof publishing>, args: string[] = [], isTTY = false) {
  const [stdout, stderr] = [stream(isTTY), stream(isTTY)];
  const code = await start({root, args, out: join(root, "out"), stdout, stderr}, work);
  return {code, stdout: stdout.text, stderr: stderr.text};
}

describe("npm start", () => {
  it("runs every notebook and prints one line each and the page to open", async () => {
    const work = publishing();
    const {code, stdout, stderr} = await run(work);
    assert.equal(code, 0);
    assert.equal(stderr, "", "no progress bar in a pipe");
    assert.deepEqual(stdout.trimEnd().split("\n"), [
      "first: Shown better: −0.21 s",
      "second: Shown better: −0.21 s",
      "third: ran, without a verdict",
      `Open ${join(root, "out", "index.html")}`,
    ]);
    assert.deepEqual(
      work.indexed,
      ["first", "second", "third"].map(name => join(root, "out", `${name}.html`)),
    );
    assert.ok(existsSync(join(root, "out")));
  });

  it("tells a failed notebook in words, runs the others and ends with 1", async () => {
    const gone = new InputError(1, {
      code: "log-unreadable",
      file: "run-03.csv",
      words: "the file is empty",
      hint: "copy it again",
    });
    const work = publishing({second: gone});
    const {code, stdout, stderr} = await run(work);
    assert.equal(code, 1);
    assert.equal(stderr, "second: failed: run-03.csv: the file is empty; copy it again\n");
    assert.match(stdout, /^first: .*\nthird: .*\nOpen /);
    assert.equal(work.indexed.length, 2);
  });

  it("promises no page where every notebook failed", async () => {
    const work = publishing({first: new Error("a"), second: new Error("b"), third: "a thrown text"});
    const {code, stdout, stderr} = await run(work);
    assert.equal(code, 1);
    assert.equal(stdout, "");
    assert.match(stderr, /third: failed: a thrown text/);
  });

  it("runs only the notebooks that are named, into the folder that is named", async () => {
    const work = publishing();
    const elsewhere = join(root, "else where");
    const {code, stdout} = await run(work, ["third", "--out", elsewhere]);
    assert.equal(code, 0);
    assert.deepEqual(work.files, [join(root, "notebooks", "third", "notebook.ipynb")]);
    assert.match(stdout, /Open .*else where.index\.html/);
  });

  it("refuses a name or an option it does not know, and runs nothing", async () => {
    const work = publishing();
    const name = await run(work, ["fourth"]);
    assert.equal(name.code, 2);
    assert.equal(name.stderr, 'start: no notebook "fourth"; there are first, second, third\n');
    const option = await run(work, ["--opne"]);
    assert.equal(option.code, 2);
    assert.match(option.stderr, /Unknown option '--opne'.*use npm start -- \[NOTEBOOK …\] \[--out FOLDER\]/s);
    assert.deepEqual(work.files, []);
  });

  it("says so where there is no notebook", async () => {
    rmSync(join(root, "notebooks"), {recursive: true});
    const {code, stderr} = await run(publishing());
    assert.equal(code, 1);
    assert.match(stderr, /no notebook\.ipynb in a folder of .*notebooks; restore one/);
  });

  it("shows on a terminal which cell of which notebook runs, and takes the bar away for a result", async () => {
    const {stdout, stderr} = await run(publishing(), [], true);
    assert.match(stderr, /2\/3 second, cell 1 of 4/);
    assert.ok(stderr.endsWith("\r\u001b[2K"), "the bar is left standing");
    assert.doesNotMatch(stdout, /\u001b/);
  });
});

describe("progressBar", () => {
  it("fills in proportion and never wraps the line", () => {
    const terminal = stream(true);
    progressBar(terminal).show(0.5, "words ".repeat(20));
    const line = terminal.text.replace("\r\u001b[2K", "");
    assert.equal(line.length, 59); // one less than the 60 columns
    assert.ok(line.startsWith(`${"█".repeat(12)}${"░".repeat(12)} words`)); // half of 24 cells
  });
});
