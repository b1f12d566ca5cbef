import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {notebookAbout} from "../../lib/notebook/about.ts";
import {codeCells, hasTag} from "../../lib/notebook/notebook.ts";
import {parseNotebook, readNotebook} from "../../lib/notebook/read.ts";
import {notebookText, stripped} from "../../lib/notebook/write.ts";
import {InputError} from "../../lib/result/error.ts";

const METADATA = {kernelspec: {display_name: "TypeScript", language: "typescript", name: "tslab"}};

function raw(more: Record<string, unknown> = {}) {
  return {
    nbformat: 4,
    nbformat_minor: 5,
    metadata: METADATA,
    cells: [
      {id: "a", cell_type: "markdown", metadata: {}, source: ["# Title one\n", "text"]},
      {
        id: "b",
        cell_type: "code",
        metadata: {tags: ["settings"], execution: {"iopub.execute_input": "x"}},
        source: "1 + 1",
        execution_count: 7,
        outputs: [
          {output_type: "stream", name: "stdout", text: ["one\n", "two"]},
          {output_type: "execute_result", execution_count: 7, metadata: {}, data: {"text/plain": ["2"]}},
          {output_type: "error", ename: "E", evalue: "v", traceback: ["t"]},
        ],
      },
    ],
    ...more,
  };
}

const parse = (value: unknown) => parseNotebook(JSON.stringify(value), "n.ipynb");

describe("parseNotebook", () => {
  it("joins texts that are stored as lines", () => {
    const notebook = parse(raw());
    assert.equal(notebook.cells[0]!.source, "# Title one\ntext");
    assert.deepEqual(notebook.cells[1]!.outputs![0], {
      output_type: "stream",
      name: "stdout",
      text: "one\ntwo",
    });
    assert.equal(codeCells(notebook).length, 1);
    assert.ok(hasTag(notebook.cells[1]!, "settings"));
    assert.ok(!hasTag(notebook.cells[0]!, "settings"));
  });

  it("gives ids to the cells of older minor versions, which had none", () => {
    const old = {...raw(), nbformat_minor: 4, cells: [{cell_type: "markdown", metadata: {}, source: ""}]};
    const notebook = parse(old);
    assert.equal(notebook.cells[0]!.id, "cell-1");
    assert.equal(notebook.nbformat_minor, 5);
  });

  const mistakes: [string, unknown, RegExp][] = [
    ["no notebook", {a: 1}, /n\.ipynb: this is not a notebook/],
    ["nbformat 3", {nbformat: 3, worksheets: []}, /says nbformat 3, but 4 is needed; open it in Jupyter/],
    ["cells missing", {...raw(), cells: undefined}, /"cells" is missing or malformed/],
    ["metadata missing", {...raw(), metadata: undefined}, /"metadata" is missing or malformed/],
    [
      "another language",
      {...raw(), metadata: {language_info: {name: "python"}}},
      /cells are in "python", but TypeScript is needed/,
    ],
    ["no language", {...raw(), metadata: {}}, /does not say in which language/],
    [
      "a cell type unknown",
      {...raw(), cells: [{id: "x", cell_type: "heading", source: ""}]},
      /cell 1 has the unknown type "heading"/,
    ],
    ["a cell without source", {...raw(), cells: [{id: "x", cell_type: "code"}]}, /cell 1 has no source text/],
    ["a cell without id", {...raw(), cells: [{cell_type: "code", source: ""}]}, /cell 1 has no id/],
    [
      "an id with a blank",
      {...raw(), cells: [{id: "a b", cell_type: "code", source: ""}]},
      /cell 1 has the id "a b"/,
    ],
    [
      "an id used twice",
      {...raw(), cells: ["x", "y", "x"].map(id => ({id, cell_type: "raw", source: ""}))},
      /cells 1 and 3 have the same id "x"; give one of them another id/,
    ],
    [
      "a malformed output",
      {
        ...raw(),
        cells: [
          {id: "x", cell_type: "code", source: "", outputs: [{output_type: "stream", name: "log", text: ""}]},
        ],
      },
      /cell 1 has a malformed output/,
    ],
  ];
  for (const [title, value, message] of mistakes) {
    it(`says what is wrong with ${title}`, () => {
      assert.throws(() => parse(value), {name: "InputError", message});
    });
  }

  it("names line and column where JSON breaks", () => {
    assert.throws(
      () => parseNotebook('{\n "cells": [}', "n.ipynb"),
      (error: InputError) => {
        assert.equal(error.details.code, "notebook-not-json");
        return error.details.line === undefined || error.details.line === 2;
      },
    );
    assert.throws(() => parseNotebook("", "n.ipynb"), /n\.ipynb: the file is empty/);
    assert.throws(
      () => parseNotebook("{\n<<<<<<< HEAD\n", "n.ipynb"),
      /n\.ipynb, line 2: a merge left conflict marks/,
    );
  });

  it("names a file that is not there", async () => {
    await assert.rejects(
      readNotebook("/nowhere/n.ipynb"),
      /\/nowhere\/n\.ipynb: there is no such file; check the path/,
    );
  });

  it("ends in a notebook or in an InputError, whatever it is fed", () => {
    const text = JSON.stringify(raw());
    const mangled = fc
      .tuple(fc.nat(text.length), fc.nat(40), fc.string({maxLength: 8}))
      .map(([at, length, put]) => text.slice(0, at) + put + text.slice(at + length));
    const shape = fc.record(
      {
        nbformat: fc.constantFrom(4, 3, "4"),
        nbformat_minor: fc.constantFrom(5, 4, null, 5.5),
        metadata: fc.constantFrom(METADATA, {}, null, []),
        cells: fc.oneof(fc.array(fc.oneof(fc.jsonValue(), cellLike())), fc.jsonValue()),
      },
      {requiredKeys: []},
    );
    fc.assert(
      fc.property(
        fc.oneof(
          mangled,
          fc.json(),
          fc.string(),
          shape.map(value => JSON.stringify(value)),
        ),
        input => {
          try {
            const notebook = parseNotebook(input, "n.ipynb");
            assert.deepEqual(parseNotebook(notebookText(notebook), "n.ipynb"), notebook);
          } catch (error) {
            assert.ok(error instanceof InputError, String(error));
          }
        },
      ),
      {seed: 20, numRuns: 1000},
    );
  });
});

function cellLike() {
  return fc.record(
    {
      id: fc.constantFrom("a", "b", "c", 4),
      cell_type: fc.constantFrom("code", "markdown", "raw"),
      source: fc.oneof(fc.string(), fc.array(fc.string())),
      metadata: fc.constantFrom({}, {tags: ["prose"]}, null),
      outputs: fc.array(
        fc.oneof(
          fc.jsonValue(),
          fc.record({output_type: fc.constant("stream"), name: fc.constant("stdout"), text: fc.string()}),
          fc.record({
            output_type: fc.constant("display_data"),
            data: fc.dictionary(fc.string(), fc.jsonValue()),
          }),
        ),
      ),
    },
    {requiredKeys: ["cell_type", "source"]},
  );
}

describe("notebookText", () => {
  it("writes what was read, texts as lines and keys in order", () => {
    const notebook = parse(raw());
    const text = notebookText(notebook);
    assert.deepEqual(parseNotebook(text, "n.ipynb"), notebook);
    assert.match(text, /"source": \[\n {4}"# Title one\\n",\n {4}"text"\n {3}\]/);
    assert.ok(text.indexOf('"cells"') < text.indexOf('"nbformat"'));
    assert.ok(text.endsWith("}\n"));
  });
});

describe("stripped", () => {
  it("leaves nothing that a run put there, and keeps tags", () => {
    const cell = stripped(parse(raw())).cells[1]!;
    assert.deepEqual(cell, {
      id: "b",
      cell_type: "code",
      source: "1 + 1",
      metadata: {tags: ["settings"]},
      outputs: [],
      execution_count: null,
    });
  });
});

describe("notebookAbout", () => {
  it("takes the title from the first heading where the metadata have none", () => {
    assert.deepEqual(notebookAbout(parse(raw()), "n.ipynb"), {
      title: "Title one",
      authors: [],
      date: null,
      licence: null,
      car: null,
      abstract: null,
      template: null,
    });
  });

  it("reads every field", () => {
    const fairpull = {template: "band-time", version: "1.0.0", requires: ">=0.1.0"};
    const metadata = {
      ...METADATA,
      title: "T",
      authors: ["A. One", {name: "B. Two"}],
      date: "2025-06-14",
      licence: "CC-BY-4.0",
      car: "Ossel 1.4",
      abstract: "short",
      fairpull,
    };
    assert.deepEqual(notebookAbout(parse({...raw(), metadata}), "n.ipynb"), {
      title: "T",
      authors: ["A. One", "B. Two"],
      date: "2025-06-14",
      licence: "CC-BY-4.0",
      car: "Ossel 1.4",
      abstract: "short",
      template: fairpull,
    });
  });

  it("refuses what is no text", () => {
    const about = (more: object) => () =>
      notebookAbout(parse({...raw(), metadata: {...METADATA, ...more}}), "n.ipynb");
    assert.throws(about({date: 2025}), /metadata\.date is 2025, but a text is needed/);
    assert.throws(about({authors: "me"}), /metadata\.authors is no list/);
    assert.throws(about({authors: [{}]}), /metadata\.authors\[0\] has no name/);
    assert.throws(about({fairpull: {template: "x"}}), /metadata\.fairpull\.version is missing/);
  });
});
