import assert from "node:assert/strict";
import {afterEach, beforeEach, describe, it} from "vitest";
import {DISPLAY, type Displayed, liveDisplay} from "../../lib/figures/display.ts";
import {interactive} from "../../lib/figures/interactive.ts";
import {progressDisplay} from "../../lib/figures/progress.ts";

const HOOK = Symbol.for("fairpull.display");
const hooks = globalThis as Record<symbol, unknown>;

describe("displays that are replaced", () => {
  let shown: {bundle: Record<string, unknown>; place: {id: string; update: boolean}}[];
  beforeEach(() => {
    shown = [];
    hooks[HOOK] = (value: Displayed, place: {id: string; update: boolean}) =>
      shown.push({bundle: value[DISPLAY](), place});
  });
  afterEach(() => {
    delete hooks[HOOK];
  });
  /** What is printed meanwhile. */
  function printed(work: () => void): string[] {
    const lines: string[] = [];
    const {log} = console;
    console.log = (line: string) => lines.push(line);
    try {
      work();
    } finally {
      console.log = log;
    }
    return lines;
  }

  it("stay in one place each", () => {
    const text = (words: string) => ({[DISPLAY]: () => ({"text/plain": words})});
    const [a, b] = [liveDisplay()!, liveDisplay()!];
    a.show(text("1"));
    b.show(text("2"));
    a.show(text("3"));
    assert.deepEqual(
      shown.map(({place}) => place.update),
      [false, false, true],
    );
    assert.equal(shown[0]!.place.id, shown[2]!.place.id);
    assert.notEqual(shown[0]!.place.id, shown[1]!.place.id);
  });

  it("show progress by whole per cent, and end in one line", () => {
    const progress = progressDisplay("Days <simulated>");
    for (let i = 0; i <= 1000; i++) progress.show(i / 1000, `${i} of 1000`);
    progress.end("1000 days simulated");
    assert.equal(shown.length, 102); // 0 to 100 %, and the line
    assert.match(
      String(shown[50]!.bundle["text/html"]),
      /Days &lt;simulated&gt;: 500 of 1000 <progress max="100" value="50">/,
    );
    assert.deepEqual(shown.at(-1)!.bundle, {"text/plain": "1000 days simulated"});
    assert.deepEqual(new Set(shown.slice(1).map(({place}) => place.update)), new Set([true]));
  });

  it("bring Plotly to the page once and leave one line", () => {
    interactive();
    const [first, second] = shown;
    assert.ok(String(first!.bundle["text/html"]).length > 600_000);
    assert.doesNotMatch(String(first!.bundle["text/html"]), /https?:\/\//);
    assert.deepEqual(second!.place, {id: first!.place.id, update: true});
    assert.deepEqual(Object.keys(second!.bundle), ["text/plain"]);
  });

  it("are a line of text where no notebook of ours is", () => {
    delete hooks[HOOK];
    assert.equal(liveDisplay(), null);
    assert.deepEqual(
      printed(() => {
        const progress = progressDisplay("Days");
        progress.show(0.5);
        progress.end("done");
        interactive();
      }),
      ["done", "Figures stay pictures here; fairpull's own kernel makes them interactive."],
    );
  });
});
