import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {describe, it} from "vitest";
import {sliceLog} from "../../lib/cli/slice.ts";
import {sliceSchema} from "../../lib/result/schemas/slice.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {assertClose} from "../assert-close.ts";

describe("slice --session", () => {
  const scenario = scenarioNamed("null-day")!;
  const folder = join(mkdtempSync(join(tmpdir(), "slice-")), "day");
  const day = simulateDay(scenario, 2);
  writeDay(day, folder);
  const band = {from: "60 km/h", to: "110 km/h"};

  it("adds wheel power and grade with their uncertainties", () => {
    const {document, exitCode} = sliceLog("run-01.csv", {...band, session: "session.yaml"}, folder);
    assert.equal(exitCode, 0);
    sliceSchema.parse(document);
    const [pass] = document.passes;
    // The car's curve in third gear from 60 to 110 km/h lies between 75 and 97 kW; its mean over the pass near 88, times the run's factor.
    assertClose(pass.wheel_power_w!, 88_000 * day.runs[0].truth.powerFactor, 2 * pass.wheel_power_u_w!);
    assert.ok(pass.wheel_power_u_w! > 500 && pass.wheel_power_u_w! < 4000, String(pass.wheel_power_u_w));
    // The road at the start of the runway falls away from its crest: by its formula between −0.5 and 0 %.
    assertClose(pass.grade!, -0.002, 3 * pass.grade_u!);
  });
  it("quantifies what an unknown grade means", () => {
    const log = readFileSync(join(folder, "run-01.csv"), "utf8");
    const lines = log.split("\n");
    const at = lines.findIndex(line => /height|alt/i.test(line));
    const column = lines[at].split(",").findIndex(name => /height|alt/i.test(name));
    const without = lines.map((line, i) =>
      i < at || line === ""
        ? line
        : line
            .split(",")
            .filter((_, k) => k !== column)
            .join(","),
    );
    writeFileSync(join(folder, "flat.csv"), without.join("\n"));
    const [pass] = sliceLog("flat.csv", {...band, session: "session.yaml"}, folder).document.passes;
    assert.equal(pass.grade, null);
    // By hand: 1 % of 1280 kg · 9.81 at 23.6 m/s is 3.0 kW.
    assert.ok(pass.wheel_power_u_w! > 2900, String(pass.wheel_power_u_w));
  });
  it("leaves the keys away without it, and names a session that lacks the car", () => {
    assert.equal("wheel_power_w" in sliceLog("run-01.csv", band, folder).document.passes[0], false);
    const text = readFileSync(join(folder, "session.yaml"), "utf8");
    writeFileSync(join(folder, "no-car.yaml"), text.replace(/ {2}dragArea: .*\n/, ""));
    const {document, exitCode} = sliceLog("run-01.csv", {...band, session: "no-car.yaml"}, folder);
    assert.equal(exitCode, 2);
    assert.match(
      document.error!.words,
      /vehicle\.dragArea is missing, and wheel power cannot be computed without it/,
    );
  });
});
