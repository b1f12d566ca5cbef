import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, beforeAll, describe, it} from "vitest";
import {executeNotebook, type NotebookRun} from "../../lib/dist/kernel/execute.js";
import {codeCells, type Notebook, type Output} from "../../lib/notebook/notebook.ts";
import {readNotebook} from "../../lib/notebook/read.ts";
import {requireBuild} from "../repo/built.ts";
import {requireTool} from "../require.ts";
import {kernelEnvironment, type Message, startFrontEnd} from "./front-end.ts";

const jupyter = requireTool("jupyter");
const FILE = fileURLToPath(new URL("../fixtures/kernel/sixty-cells.ipynb", import.meta.url));

/** What a notebook would store of the messages of one cell, as nbformat and nbclient have it. */
function outputsOf(messages: readonly Message[]): Output[] {
  const outputs: Output[] = [];
  const places = new Map<string, Output & {output_type: "display_data"}>();
  for (const {type, content} of messages) {
    const last = outputs.at(-1);
    if (type === "stream" && last?.output_type === "stream" && last.name === content.name)
      last.text += content.text;
    else if (type === "stream") outputs.push({output_type: "stream", name: content.name, text: content.text});
    else if (type === "error") outputs.push({output_type: "error", ...content});
    else if (type === "execute_result") outputs.push({output_type: "execute_result", ...content});
    else if (type === "update_display_data") places.get(content.transient.display_id)!.data = content.data;
    else if (type === "display_data") {
      const output = {output_type: "display_data" as const, data: content.data, metadata: {}};
      if (content.transient.display_id) places.set(content.transient.display_id, output);
      outputs.push(output);
    }
  }
  return outputs;
}

/**
 * An output without what the kernel alone adds: the picture, which a page draws later, and the mark of the source, by
 * which a page knows that a stored output is out of date.
 */
function comparable(output: Output): Output {
  if (!("data" in output)) return output;
  const {"text/html": html, ...data} = output.data;
  const isFigure = "application/vnd.plotly.v1+json" in data;
  return {...output, metadata: {}, data: html === undefined || isFigure ? data : output.data};
}

describe.skipIf(!jupyter.path)(`a notebook of sixty cells${jupyter.title}`, () => {
  const folder = mkdtempSync(path.join(tmpdir(), "sixty cells "));
  const place = kernelEnvironment();
  let notebook: Notebook;
  let runner: NotebookRun;
  let jupyterOutputs: Output[][];
  beforeAll(async () => {
    requireBuild();
    notebook = await readNotebook(FILE);
    runner = await executeNotebook(notebook, {folder});
    const kernel = await startFrontEnd(jupyter.path!, {env: place.env, cwd: folder});
    const messages: Message[] = [];
    const ids: string[] = [];
    for (const {source} of codeCells(notebook)) {
      const answer = await kernel.execute(source, {stop_on_error: false});
      ids.push(answer.id);
      messages.push(...answer.messages);
    }
    jupyterOutputs = ids.map(id =>
      outputsOf(messages.filter(({channel, parent}) => channel === "iopub" && parent === id)),
    );
    await kernel.stop();
  });
  afterAll(() => {
    place.remove();
    rmSync(folder, {recursive: true});
  });

  it("runs to its end by the runner, each expected error included", () => {
    assert.equal(runner.failed, null, JSON.stringify(runner.failed?.error));
    assert.equal(runner.cells.length, codeCells(notebook).length);
    assert.ok(runner.cells.length >= 60);
  });

  it("has the same outputs through Jupyter and through the runner", () => {
    for (const [index, {outputs, cell}] of runner.cells.entries()) {
      assert.deepEqual(jupyterOutputs[index]!.map(comparable), outputs, `cell ${index + 1}: ${cell.source}`);
    }
  });

  it("has a picture where it shows a figure, through Jupyter", () => {
    const figures = jupyterOutputs
      .flat()
      .filter(output => "data" in output && "application/vnd.plotly.v1+json" in output.data);
    assert.equal(figures.length, 1);
    assert.match(
      String((figures[0] as {data: Record<string, unknown>}).data["text/html"]),
      /<img alt="Three points"/,
    );
  });

  /** Runs the fixture by nbconvert; the notebook it wrote, its exit code and its words. */
  function nbconvert(...options: string[]) {
    const to = path.join(folder, "run.ipynb");
    const args = [
      "--execute",
      "--to",
      "notebook",
      "--output-dir",
      folder,
      "--output",
      "run.ipynb",
      ...options,
    ];
    let [code, words] = [0, ""];
    rmSync(to, {force: true});
    try {
      execFileSync(jupyter.path!, [...args, FILE], {env: place.env, stdio: "pipe"});
    } catch (error) {
      ({status: code} = error as {status: number});
      words = String((error as {stderr: Buffer}).stderr);
    }
    return {code, words, read: () => JSON.parse(readFileSync(to, "utf8"))};
  }

  it("runs whole by nbclient with --allow-errors: every cell numbered, the others run", {
    timeout: 90_000,
  }, () => {
    const {code, read} = nbconvert("--allow-errors");
    assert.equal(code, 0);
    const {cells, metadata} = read();
    assert.deepEqual(
      cells.map((cell: {execution_count: number}) => cell.execution_count),
      cells.map((_cell: unknown, index: number) => index + 1),
    );
    const failing = cells.filter((cell: {outputs: Output[]}) =>
      cell.outputs.some(({output_type}) => output_type === "error"),
    );
    assert.equal(failing.length, runner.cells.filter(({error}) => error).length);
    assert.equal(metadata.language_info.version, "5.0.4");
  });

  it("stops at the first error by nbclient without it, with our words and exit code 1", {
    timeout: 90_000,
  }, () => {
    // tags that allow an error are nbclient's own "raises-exception"; ours mean nothing to it
    const {code, words} = nbconvert();
    assert.equal(code, 1);
    assert.match(words, /RangeError: too far/);
    assert.match(words, /at cell 25:1:7/);
    assert.doesNotMatch(words, /terminate called|core dumped/); // the kernel went quietly
  });
});
