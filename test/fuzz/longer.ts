import {createRequire} from "node:module";
import type fastCheck from "fast-check";
import {expect} from "vitest";

/**
 * Takes the place of fast-check in `npm run fuzz`: every property of the suite runs many times longer, from a seed that
 * is new each time. A failure prints seed and counter-example; put them into the short test.
 */
const TIMES = 100;
/** A property that is slow ends after this time, in ms, however many runs it had. */
const LIMIT_MS = 60_000;
/** Those of readers of logs get so many inputs whatever it takes, up to this time in ms. */
const READER_RUNS = 10_000;
const READER_LIMIT_MS = 900_000;

// by require, since an import of fast-check would lead back here
const {default: real}: {default: typeof fastCheck} = createRequire(import.meta.url)("fast-check");

const assert = (property: Parameters<typeof real.check>[0], parameters?: fastCheck.Parameters<unknown>) => {
  const ofReader = expect.getState().testPath?.replaceAll("\\", "/").includes("/test/log/") ?? false;
  const run = (numRuns: number, limitMs: number) =>
    real.check(property as fastCheck.IAsyncProperty<unknown>, {
      ...parameters,
      seed: undefined,
      numRuns,
      interruptAfterTimeLimit: limitMs,
    }) as fastCheck.RunDetails<unknown> | Promise<fastCheck.RunDetails<unknown>>;
  const report = (details: fastCheck.RunDetails<unknown>, least: number) => {
    if (details.failed) throw new Error(real.defaultReportMessage(details));
    if (details.numRuns < least)
      throw new Error(`only ${details.numRuns} of ${least} inputs within the time`);
  };
  const wanted = (parameters?.numRuns ?? 100) * TIMES;
  const first = ofReader ? run(READER_RUNS, READER_LIMIT_MS) : run(wanted, LIMIT_MS);
  const least = ofReader ? READER_RUNS : 0;
  const then = (details: fastCheck.RunDetails<unknown>) => {
    report(details, least);
    const more = ofReader ? wanted - READER_RUNS : 0;
    if (more <= 0) return undefined;
    const rest = run(more, LIMIT_MS);
    return rest instanceof Promise ? rest.then(found => report(found, 0)) : report(rest, 0);
  };
  return first instanceof Promise ? first.then(then) : then(first);
};

export default {...real, assert};
