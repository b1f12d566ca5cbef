import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {loadChannelDay} from "../../lib/channels/channel-day.ts";
import {judgeChannels} from "../../lib/judge/channels.ts";
import {InputError} from "../../lib/result/error.ts";
import {assertClose} from "../assert-close.ts";
import {engineFile, MadeDay} from "./made-session.ts";

/** Minutes are too long for a test: runs follow each other by so much, no two by the same [s]. */
const startOf = (run: number) => 60 * run + 7 * ((run * run) % 5);
/** The engine log's clock is ahead by this and runs faster by this. */
const [AHEAD_S, RATE] = [1.45, 4e-4];

/**
 * The demo day as an afternoon in two logs, one of speed and one of the engine, each with a clock of its own.
 *
 * @param setS how far the engine log's clock is set on before run 9 [s]
 */
function afternoon({setS = 0} = {}): MadeDay {
  const made = new MadeDay();
  const lags = JSON.parse(made.truth).runs.map((run: {engine_log_lag_s: number}) => run.engine_log_lag_s);
  const join = (files: string[], clock: (second: number, run: number) => number) => {
    const parts = files.map((file, i) => {
      const [head, ...lines] = made.files.get(file)!.trimEnd().split("\n");
      made.files.delete(file);
      return {
        head,
        lines: lines.map(line => {
          const [time, ...cells] = line.split(",");
          return [clock(Number(time), i + 1).toFixed(3), ...cells].join(",");
        }),
      };
    });
    return `${[parts[0].head, ...parts.flatMap(({lines}) => lines)].join("\n")}\n`;
  };
  const runs = Array.from({length: 12}, (_, i) => i + 1);
  const engine = join(
    runs.map(engineFile),
    (second, run) => AHEAD_S + (1 + RATE) * (startOf(run) + second - lags[run - 1]) + (run >= 9 ? setS : 0),
  );
  const speed = join(
    runs.map(run => engineFile(run).replace("-engine", "")),
    (second, run) => startOf(run) + second,
  );
  made.files.set("speed.csv", speed);
  made.files.set("engine.csv", engine);
  return made.edit("session.yaml", text =>
    text
      .replace("engine: {", "engine: {file: engine.csv, ")
      .replace(/file: run-(\d+)\.csv, engine: \S+,/g, (_, run) => {
        const from = startOf(Number(run));
        return `file: speed.csv, from: ${from} s, to: ${from + 30} s,`;
      }),
  );
}

describe("an afternoon in one speed log and one engine log", () => {
  it("is paired once, with the rate of the clocks from the lags of the runs", () => {
    const session = afternoon().session();
    const loaded = loadChannelDay(session);
    const [pairing] = loaded.pairings;
    assert.deepEqual([loaded.pairings.length, pairing.runs.length], [1, 12]);
    // receivers smooth their speed by 0.12 s, which no log can tell from lag; a rate of 2e-5 is 0.014 s over the 700 s
    assertClose(pairing.clockRate!, RATE, 2e-5);
    assertClose(pairing.lagS, AHEAD_S + RATE * pairing.middleS - 0.12, 0.02);
    assertClose(pairing.scale, 1 / 1.015, 0.002);
    const {effect, curves} = judgeChannels(session, loaded);
    assertClose(effect.estimate!, 0.45, 0.05); // as from a log a run: the same runs
    assert.ok(curves!.ranges.length > 0);
  });

  it("is refused where a clock was set between runs", () => {
    assert.throws(
      () => loadChannelDay(afternoon({setS: 1}).session()),
      (error: unknown) =>
        error instanceof InputError &&
        error.details.code === "clock-set" &&
        /clocks of speed\.csv and engine\.csv do not run evenly: around run \d+ they are \d\.\d\d s off/.test(
          error.message,
        ),
    );
  });

  it("is refused where one pull fits several places of the engine log", () => {
    const made = afternoon();
    const lines = made.files.get("speed.csv")!.split("\n");
    const only = lines.filter(
      (line, i) => i === 0 || (Number.parseFloat(line) >= 60 && Number.parseFloat(line) < 95),
    );
    made.files.set("speed.csv", `${only.join("\n")}\n`);
    made.edit("session.yaml", text =>
      text
        .split("\n")
        .filter(line => !line.includes("speed.csv") || line.includes(`from: ${startOf(1)} s`))
        .join("\n")
        .concat(
          `  - {file: speed.csv, from: ${startOf(1) + 0.5} s, to: ${startOf(1) + 31} s, arm: baseline}\n`,
        ),
    );
    assert.throws(
      () => loadChannelDay(made.session()),
      (error: unknown) =>
        error instanceof InputError &&
        /several places of engine\.csv equally well.*pulls on one road are alike/.test(error.message),
    );
  });
});
