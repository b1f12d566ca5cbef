import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {readMarks} from "../../lib/kernel/marks.ts";

const MARK = "\u0000end of cell\n";

/** What is told of a stream that arrives in these chunks: texts joined, marks as "|". */
function told(chunks: string[]): string {
  let all = "";
  const read = readMarks(
    text => {
      all += text;
    },
    () => {
      all += "|";
    },
  );
  for (const chunk of chunks) read(chunk);
  return all;
}

describe("readMarks", () => {
  it("tells texts from marks, however the stream is cut", () => {
    const piece = fc.constantFrom(MARK, "text", "\n", "\u0000", "\u0000end", "end of cell\n");
    fc.assert(
      fc.property(fc.array(piece), fc.array(fc.nat(200)), (pieces, cuts) => {
        const stream = `${pieces.join("")}.`; // a full stop, so that nothing is held back as the start of a mark
        const places = [0, ...cuts.filter(cut => cut <= stream.length).sort((a, b) => a - b), stream.length];
        const chunks = places.slice(1).map((place, i) => stream.slice(places[i], place));
        assert.equal(told(chunks), stream.replaceAll(MARK, "|"));
      }),
      {seed: 20, numRuns: 500},
    );
  });
});
