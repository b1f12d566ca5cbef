import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import type {Cell, Notebook} from "../../lib/notebook/notebook.ts";
import {parseNotebook} from "../../lib/notebook/read.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {openConflicts} from "../../lib/templates/conflict.ts";
import {mergeNotebooks} from "../../lib/templates/merge.ts";

const METADATA = {kernelspec: {display_name: "TypeScript", language: "typescript", name: "tslab"}};

function text(id: string, source: string): Cell {
  return {id, cell_type: "markdown", source, metadata: {}};
}
function code(id: string, source: string): Cell {
  return {id, cell_type: "code", source, metadata: {}, outputs: [], execution_count: null};
}
function notebook(cells: Cell[], metadata: Record<string, unknown> = {}): Notebook {
  return {nbformat: 4, nbformat_minor: 5, metadata: {...METADATA, ...metadata}, cells};
}
const merged = (base: Cell[], template: Cell[], mine: Cell[]) =>
  mergeNotebooks(
    {base: notebook(base), template: notebook(template), mine: notebook(mine)},
    {version: "2.0.0"},
  );
const shape = ({cells}: Notebook) => cells.map(({id, source}) => `${id}: ${source}`);

describe("mergeNotebooks", () => {
  const base = [text("a", "A"), code("b", "b()"), text("c", "C")];

  it("moves what the analyst left alone, and keeps what the analyst wrote", () => {
    const template = [text("a", "A2"), code("b", "b()"), text("new", "N"), text("c", "C")];
    const mine = [text("a", "A"), code("b", "mine()"), text("note", "my note"), text("c", "C")];
    const {notebook: result, report} = merged(base, template, mine);
    assert.deepEqual(shape(result), ["a: A2", "b: mine()", "note: my note", "new: N", "c: C"]);
    assert.deepEqual(report, {
      updated: ["a"],
      added: ["new"],
      removed: [],
      conflicts: [],
      kept: [],
      leftOut: [],
      order: "template",
    });
  });

  it("shows both sides of a conflict, the template's marked and not run", () => {
    const {notebook: result, report} = merged(
      base,
      [text("a", "A"), code("b", "new(`x`)"), text("c", "C")],
      [text("a", "A"), code("b", "mine()"), text("c", "C")],
    );
    assert.deepEqual(report.conflicts, ["b"]);
    assert.deepEqual(
      result.cells.map(({id}) => id),
      ["a", "b", "b-in-2-0-0", "c"],
    );
    const [shown] = openConflicts(result);
    assert.equal(shown.cell_type, "markdown");
    assert.match(shown.source, /The cell above is yours\. Version 2\.0\.0[\s\S]*\n```ts\nnew\(`x`\)\n```$/);
    assert.equal(result.cells[1].source, "mine()");
  });

  it("keeps an edited cell that the template dropped, and leaves out what the analyst took out", () => {
    const {notebook: result, report} = merged(base, [text("c", "C2")], [text("a", "A"), code("b", "mine()")]);
    assert.deepEqual(shape(result), ["b: mine()"]);
    assert.deepEqual([report.removed, report.kept, report.leftOut], [["a"], ["b"], ["c"]]);
  });

  it("takes over the template's order unless the analyst has one", () => {
    const template = [text("c", "C"), text("a", "A"), code("b", "b()")];
    const note = text("note", "n");
    const moved = merged(base, template, [text("a", "A"), note, code("b", "b()"), text("c", "C")]);
    assert.deepEqual(
      moved.notebook.cells.map(({id}) => id),
      ["c", "a", "note", "b"],
    );
    const own = merged(base, template, [code("b", "b()"), note, text("a", "A"), text("c", "C")]);
    assert.deepEqual(
      own.notebook.cells.map(({id}) => id),
      ["b", "note", "a", "c"],
    );
    assert.equal(own.report.order, "analyst");
  });

  it("takes editors' notes for no change, keeps outputs of cells that stay, and drops those of cells that move", () => {
    const ran = (cell: Cell): Cell => ({
      ...cell,
      metadata: {execution: {took: 1}, tags: ["mine"]},
      outputs: [{output_type: "stream", name: "stdout", text: "1\n"}],
      execution_count: 1,
    });
    const {notebook: result} = merged(
      [code("a", "a"), code("b", "b")],
      [{...code("a", "a2"), metadata: {tags: ["settings"], id: "f"}}, code("b", "b")],
      [ran(code("a", "a")), ran(code("b", "b"))],
    );
    assert.deepEqual([result.cells[0].source, result.cells[0].outputs], ["a2", []]);
    assert.deepEqual(result.cells[0].metadata["tags"], ["mine"]); // the analyst's change of a key stands
    assert.equal(result.cells[0].metadata["id"], "f");
    assert.equal(result.cells[1].outputs!.length, 1);
  });

  it("keeps the analyst's title and takes the template's version", () => {
    const at = (version: string) => ({fairpull: {template: "t", version, requires: "^0.1.0"}});
    const {notebook: result} = mergeNotebooks(
      {
        base: notebook(base, {...at("1.0.0"), title: "T", licence: "MIT"}),
        template: notebook(base, {...at("2.0.0"), title: "T2", licence: "CC0"}),
        mine: notebook(base, {...at("1.0.0"), title: "Mine", licence: "MIT", date: "2026-05-01"}),
      },
      {version: "2.0.0"},
    );
    assert.deepEqual(
      [result.metadata["title"], result.metadata["licence"], result.metadata["date"]],
      ["Mine", "CC0", "2026-05-01"],
    );
    assert.deepEqual(result.metadata["fairpull"], at("2.0.0").fairpull);
  });

  const ids = ["a", "b", "c", "d", "e", "f"];
  const source = fc.constantFrom("one", "two", "three ``` four", "");
  const cell = (id: string) =>
    fc.tuple(fc.boolean(), source).map(([isCode, words]) => (isCode ? code(id, words) : text(id, words)));
  const cells = fc.tuple(...ids.map(cell));
  /** Edits of one side: which cells stay, in what order, which have new words, what is written between them. */
  const side = fc.record({
    drop: fc.subarray(ids),
    edit: fc.subarray(ids),
    words: source,
    moved: fc.option(fc.nat(5)),
    added: fc.array(
      fc.record({at: fc.nat(8), words: source, id: fc.constantFrom("x", "y", "z", "b-in-2-0-0")}),
      {
        maxLength: 4,
      },
    ),
  });
  type Side = typeof side extends fc.Arbitrary<infer T> ? T : never;
  const apply = (from: readonly Cell[], {drop, edit, words, moved, added}: Side, prefix: string): Cell[] => {
    const result = from
      .filter(({id}) => !drop.includes(id))
      .map(one => (edit.includes(one.id) ? {...one, source: `${prefix} ${words}`} : one));
    if (moved !== null && result.length > 1) result.push(result.splice(moved % result.length, 1)[0]);
    for (const {at, words: note, id} of added) {
      // both sides may happen on one id
      if (!result.some(one => one.id === id))
        result.splice(Math.min(at, result.length), 0, text(id, `${prefix} ${note}`));
    }
    return result;
  };

  it("loses no cell of the analyst, keeps their order, leaves a valid notebook, and is at rest when repeated", () => {
    fc.assert(
      fc.property(cells, side, side, (start, templateSide, mineSide) => {
        const template = apply(start, templateSide, "template");
        const mine = apply(start, mineSide, "mine");
        const {notebook: result, report} = merged(start, template, mine);
        const again = parseNotebook(notebookText(result), "merged.ipynb"); // unique ids, well formed
        assert.deepEqual(
          again.cells.map(({id}) => id),
          result.cells.map(({id}) => id),
        );
        const before = new Map(start.map(one => [one.id, one]));
        const own = mine.filter(one => before.get(one.id)?.source !== one.source || !before.has(one.id));
        const found = own.map(one => result.cells.findIndex(other => other.id === one.id));
        for (const [i, one] of own.entries())
          assert.equal(result.cells[found[i]]?.source, one.source, `cell ${one.id}`);
        assert.deepEqual(
          found,
          [...found].sort((a, b) => a - b),
          "order of the analyst's cells",
        );
        // what the analyst left alone is the template's
        for (const one of mine) {
          const now = template.find(other => other.id === one.id);
          const isOwn = own.includes(one);
          const here = result.cells.find(other => other.id === one.id);
          if (!isOwn) assert.equal(here?.source, now?.source, `cell ${one.id}`);
        }
        // nothing new of the template is missing, except what the analyst took out
        for (const one of template) {
          const isThere = result.cells.some(other => other.id === one.id);
          assert.equal(isThere, !(before.has(one.id) && !mine.some(other => other.id === one.id)));
        }
        assert.equal(openConflicts(result).length, report.conflicts.length);
        const second = merged(template, template, result.cells);
        assert.deepEqual(shape(second.notebook), shape(result));
      }),
      {numRuns: 5_000},
    );
  });
});
