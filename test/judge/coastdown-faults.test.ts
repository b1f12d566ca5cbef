import assert from "node:assert/strict";
import {cpSync, mkdtempSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {judgeCoastdown} from "../../lib/judge/coastdown.ts";
import {cardOf} from "../../lib/publish/answer-card.ts";
import {readCoastdownSession} from "../../lib/run/coastdown-session.ts";

const DEMO = fileURLToPath(new URL("../../data-demo/coastdown", import.meta.url));

/** The demo day with the speeds of some runs changed [km/h], and its session edited. */
function judged(
  runs: readonly number[],
  speed: (timeS: number, kmh: number) => number,
  session: (text: string) => string = text => text,
) {
  const folder = mkdtempSync(join(tmpdir(), "coastdown-faults-"));
  cpSync(DEMO, folder, {recursive: true});
  for (const run of runs) {
    const file = join(folder, `coast-0${run}.csv`);
    const [header, ...lines] = readFileSync(file, "utf8").trimEnd().split("\n");
    const changed = lines.map(line => {
      const cells = line.split(",");
      cells[1] = speed(Number(cells[0]), Number(cells[1])).toFixed(2);
      return cells.join(",");
    });
    writeFileSync(file, `${[header, ...changed].join("\n")}\n`);
  }
  const yaml = join(folder, "session.yaml");
  writeFileSync(yaml, session(readFileSync(yaml, "utf8")));
  return judgeCoastdown(readCoastdownSession(yaml));
}
const ALL = [1, 2, 3, 4, 5, 6, 7, 8];
/** A light brake or a low gear takes 0.18 m/s² more than air and tyres, as long as the car rolls. */
const held = (timeS: number, kmh: number) => Math.max(20, kmh - 0.18 * 3.6 * Math.max(0, timeS - 5));

describe("a day of coastdowns with something wrong", () => {
  it("names the one run with a gear in, on the card too, and doubts the answer", () => {
    const result = judged([5], held);
    assert.equal(result.state, "in-doubt");
    assert.match(result.runs[4].problem!, /rolling force is \d\.\d % of the weight.* a gear left in/);
    assert.deepEqual(
      result.runs.flatMap(({run, problem}) => (problem === null ? [] : [run])),
      [5],
    );
    assert.match(
      result.words,
      /In doubt: nothing but rolling: 1 of 8 runs look like more than rolling: run 5;/,
    );
    assert.match(cardOf(result, null), /<dt>Doubted<\/dt><dd>run 5: its rolling force/);
  });
  it("tells a gear left in on every run by its size", () => {
    const result = judged(ALL, held);
    assert.match(result.words, /8 of 8 runs look like more than rolling: runs 1, 2, 3, 4, 5, 6, 7, 8;/);
    assert.match(cardOf(result, null), /a gear left in; take it out; also run 2, run 3/);
  });
  it("says that no car has a negative drag", () => {
    // By hand: the car slows down by 0.9 km/h a second and ever more, the slower it is
    const result = judged(ALL, timeS =>
      Math.max(20, 112 - 0.9 * Math.max(0, timeS - 3) - 0.002 * timeS * timeS),
    );
    assert.equal(result.state, "in-doubt");
    assert.match(result.words, /negative drag \(F2 −0\.\d+ N\/\(m\/s\)²\), which no car has/);
  });
  it("says that a small range of speeds cannot tell the terms apart, and one direction not slope from car", () => {
    const narrow = judged(
      [],
      (_, kmh) => kmh,
      text => text.replace("110 km/h", "50 km/h"),
    );
    assert.match(narrow.words, /In doubt: F0 and F2 cannot be told apart from this speed range/);
    const one = judged(
      [],
      (_, kmh) => kmh,
      text => text.replaceAll("direction: back", "direction: out"),
    );
    assert.match(one.words, /both directions: 8 runs out and 0 back; .*only one direction was driven/);
    assert.equal(one.wind, null);
  });
});
