import assert from "node:assert/strict";
import {chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {Ajv2020} from "ajv/dist/2020.js";
import {afterAll, describe, it} from "vitest";
import {documentText, textTable} from "../../lib/cli/output.ts";
import {jsonSchemas} from "../../lib/result/schemas/documents.ts";
import {VERSION} from "../../lib/result/version.ts";
import {assertClose} from "../assert-close.ts";
import {runMain} from "./run-main.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-cli-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));
const write = (name: string, text: string | Uint8Array) => writeFileSync(join(folder, name), text);

const schemas = jsonSchemas();
const ajv = new Ajv2020();
const validators = new Map(
  Object.entries(schemas).map(([name, schema]) => [name.replace(".json", ""), ajv.compile(schema)]),
);

/** The document of a command, validated against its schema; messages must stay one line without a stack. */
// biome-ignore lint/suspicious/noExplicitAny: its shape was checked against the schema
async function printed(...args: string[]): Promise<{document: any; code: number; err: string}> {
  const {out, err, code} = await runMain(folder, ...args, "--json");
  const document = JSON.parse(out);
  const validate = validators.get(args[0])!;
  const valid: boolean = validate(document);
  assert.ok(valid, `${args.join(" ")}: ${JSON.stringify(validate.errors)}`);
  assert.doesNotMatch(out, /NaN|Infinity/);
  assert.equal(document.error === undefined, code === 0);
  assert.equal(err === "", code === 0, err);
  assert.doesNotMatch(err, /\n\s*at /);
  return {document, code, err};
}
const BAND = ["--from", "60km/h", "--to", "110km/h"];

// v = 10 + 2 t [m/s] at 10 Hz, written in km/h with all digits: by hand 60 km/h at 10/3 s, 110 km/h 125/18 s later,
// distance (85/3.6) m/s × 125/18 s.
const rows = Array.from({length: 150}, (_, i) => `${i / 10},${(10 + (2 * i) / 10) * 3.6},100`);
const pull = `Time [s],Speed [km/h],Height [m]\n${rows.join("\n")}\n`;
write("pull.csv", pull);

describe("fairpull slice", () => {
  it("prints every pass of the band", async () => {
    const {document, code} = await printed("slice", "pull.csv", ...BAND);
    assert.equal(code, 0);
    assert.deepEqual(Object.keys(document), ["format", "file", "band", "passes", "unread"]);
    assert.deepEqual(document.band, {from: 60, to: 110, unit: "km/h"});
    assert.equal(document.file, "pull.csv");
    const [pass] = document.passes;
    assertClose(pass.start_s, 10 / 3, 1e-10); // 12 digits printed
    assertClose(pass.elapsed_s, 125 / 18, 1e-10);
    assertClose(pass.distance_m, (85 / 3.6) * (125 / 18), 1e-8);
    assert.equal(pass.samples, 69);
  });
  it("takes the band in any unit of speed, and falling", async () => {
    const {document} = await printed("slice", "pull.csv", "--from", "40mph", "--to", "60 mph");
    assert.deepEqual(document.band, {from: 40, to: 60, unit: "mph"});
    assertClose(document.passes[0].elapsed_s, (20 * 0.44704) / 2, 1e-10);
    const falling = await printed("slice", "pull.csv", "--from", "110km/h", "--to", "60km/h");
    assert.equal(falling.code, 1);
    assert.deepEqual(falling.document.passes, []);
    assert.match(falling.document.error.hint, /never from one end to the other in one go/);
  });
  it("ends with 1 and an empty list where the band is never reached", async () => {
    const {document, code, err} = await printed("slice", "pull.csv", "--from", "60km/h", "--to", "310km/h");
    assert.equal(code, 1);
    assert.deepEqual(document.passes, []);
    assert.match(
      err,
      /^fairpull: pull\.csv: no pass from 60 to 310 km\/h; speed in this log lies between 36 and 143\.3 km\/h/,
    );
  });
  it("computes a 1 Hz recorder's band, with a larger uncertainty", async () => {
    write(
      "slow.csv",
      `t [s],v [km/h]\n${Array.from({length: 16}, (_, i) => `${i},${36.013 + 7.2 * i}`).join("\n")}\n`,
    );
    const {document, code} = await printed("slice", "slow.csv", ...BAND);
    assert.equal(code, 0);
    assertClose(document.passes[0].elapsed_s, 125 / 18, 1e-10);
    assert.deepEqual(document.passes[0].flags, ["coarse-time"]);
  });
  it("is readable without --json", async () => {
    const {out, code} = await runMain(folder, "slice", "pull.csv", ...BAND);
    assert.equal(code, 0);
    assert.match(
      out,
      /start s\s+time s\s+± s\s+distance m\s+samples\s+doubts\n\s+3\.333\s+6\.944\s+0\.\d{3}\s+164\.0\s+69\n/,
    );
  });
  it("uses the options for logs whose names do not tell", async () => {
    write("bare.csv", rows.map(row => row.split(",").slice(1).join(";")).join("\n"));
    const {document} = await printed(
      "slice",
      "bare.csv",
      ...BAND,
      "--column",
      "speed=1:km/h",
      "--rate",
      "10Hz",
    );
    assertClose(document.passes[0].elapsed_s, 125 / 18, 1e-10);
    write("gap.csv", pull.replace(/^6\.[0-9],.*\n/gm, ""));
    assert.equal((await printed("slice", "gap.csv", ...BAND)).code, 1);
    const bridged = await printed("slice", "gap.csv", ...BAND, "--max-gap", "2s");
    assert.deepEqual(bridged.document.passes[0].flags, ["gap"]);
  });
});

describe("fairpull inspect", () => {
  it("says what is in a log", async () => {
    const {document, code} = await printed("inspect", "pull.csv");
    assert.equal(code, 0);
    assert.deepEqual([document.log_format, document.rows], ["delimited text", 150]);
    assertClose(document.duration_s, 14.9, 1e-9);
    assertClose(document.rate_hz, 10, 1e-9);
    assert.deepEqual(document.channels[1], {
      name: "speed",
      column: "Speed [km/h]",
      unit: "km/h",
      kind: "number",
      min: 36,
      max: 143.28,
      valid: 150,
    });
    assert.deepEqual(document.gaps, []);
    const {out} = await runMain(folder, "inspect", "pull.csv");
    assert.match(out, /^pull\.csv: delimited text, 150 rows over 14\.9 s, about 10 Hz/);
  });
  it("lists gaps and what was not read, with counts and lines", async () => {
    write("odd.csv", "Time [s],Speed [km/h],x\n0,50,1\n0.1,fifty,2\n0.2,52,3\n0.2,52,3\n5,53,4\n");
    const {document} = await printed("inspect", "odd.csv");
    assert.deepEqual(document.gaps, [{at_s: 0.2, length_s: 4.8}]);
    assert.deepEqual(document.unread.rows, [
      {reason: 'not a number in column "Speed [km/h]"', count: 1, first_line: 3},
      {reason: "time not later than the latest seen", count: 1, first_line: 5},
    ]);
    const {out} = await runMain(folder, "inspect", "odd.csv");
    assert.match(out, /gaps\n {2}4\.8 s at 0\.2 s\n/);
    assert.match(out, /not read\n {2}1 × not a number in column "Speed \[km\/h\]" \(first in line 3\)\n/);
  });
});

describe("bad input", () => {
  const table = (body: string) => `Time [s],Speed [km/h]\n${body}`;
  const files: Record<string, string | Uint8Array> = {
    "empty.csv": "",
    "blank.csv": "\n\n  \n",
    "binary.csv": Uint8Array.from({length: 5000}, (_, i) => (i * 7919) % 251),
    "zip.csv": Uint8Array.from([0x50, 0x4b, 3, 4, 20, 0, 0, 0]),
    "prose.csv": "dear diary,\ntoday I drove around\n",
    "stuck.csv": table("1,50\n1,51\n1,52\n"),
    "backwards.csv": table("3,50\n2,51\n1,52\n"),
    "no-unit.csv": "Time [s],Speed\n0,50\n1,60\n",
    "odd-unit.csv": "Time [s],Speed [kmx/h]\n0,50\n1,60\n",
    "no-time.csv": "Speed [km/h],Height [m]\n50,1\n60,1\n70,2\n",
    "no-speed.csv": "Time [s],Height [m]\n0,1\n1,1\n2,2\n",
    "two-speeds.csv": "Time [s],Speed [km/h],Velocity [km/h]\n0,50,55\n1,60,66\n2,70,77\n",
    "two-times.csv": "Time [s],Elapsed [s],Speed [km/h]\n0,0,50\n1,3,60\n2,6,70\n",
    "commas.csv": "Time [s],Speed [km/h]\n0,0,50,1\n0,1,51,2\n0,2,52,3\n",
    "one-row.csv": table("0,50\n"),
  };
  for (const [name, text] of Object.entries(files)) write(name, text);
  mkdirSync(join(folder, "folder.csv"));
  symlinkSync(join(folder, "loop-a"), join(folder, "loop-b"));
  symlinkSync(join(folder, "loop-b"), join(folder, "loop-a"));

  const cases: [args: string[], code: number, errorCode: string, words: RegExp][] = [
    [["empty.csv"], 1, "empty-file", /empty\.csv: the file is empty/],
    [["blank.csv"], 1, "not-a-table", /blank lines only/],
    [["binary.csv"], 1, "not-a-log", /binary data, not text/],
    [["zip.csv"], 1, "not-a-log", /ZIP archive .*; unpack it/],
    [["prose.csv"], 1, "not-a-table", /line 1: no row of numbers was found; line 1 reads "dear diary,"/],
    [["stuck.csv"], 1, "time-never-increases", /line 2, column "Time \[s\]": time never increases/],
    [["backwards.csv"], 1, "time-never-increases", /time never increases/],
    [
      ["no-unit.csv"],
      1,
      "no-unit",
      /column "Speed": the file gives no unit for the speed; .*--column speed="Speed:km\/h"/,
    ],
    [["odd-unit.csv"], 1, "unknown-unit", /the unit "kmx\/h" is not known as one of speed/],
    [["no-time.csv"], 1, "no-time", /no column is recognised as time; .*--rate/],
    [["no-speed.csv"], 1, "no-channel", /no column is recognised as speed; .*"Height \[m\]"/],
    [
      ["two-speeds.csv"],
      1,
      "ambiguous-column",
      /"Speed \[km\/h\]" and "Velocity \[km\/h\]" are equally likely .*--column speed="Speed \[km\/h\]" or --column speed="Velocity/,
    ],
    [
      ["two-times.csv"],
      1,
      "ambiguous-column",
      /"Time \[s\]" \(2\.00000 s long\) and "Elapsed \[s\]" \(6\.00000 s long\)/,
    ],
    [["commas.csv"], 1, "decimal-comma", /line 2: rows have 4 fields under 2 names/],
    [["one-row.csv"], 1, "time-never-increases", /time never increases/],
    [["missing.csv"], 2, "no-such-file", /missing\.csv: there is no such file; check the path/],
    [["folder.csv"], 2, "is-a-folder", /this is a folder/],
    [["loop-a"], 2, "link-loop", /leads back to itself/],
    [["pull.csv/x"], 2, "no-such-file", /part of the path is a file/],
    [
      ["pull.csv", "--column", "speed=Velocity"],
      2,
      "unknown-column",
      /there is no column "Velocity" for speed; the columns are "Time \[s\]"/,
    ],
    [
      ["pull.csv", "--column", "speed=Speed [kmh]"],
      2,
      "unknown-column",
      /did you mean --column speed="Speed \[km\/h\]"/,
    ],
    [
      ["pull.csv", "--column", "speed=Speed [km/h]:furlong"],
      2,
      "unknown-unit",
      /the unit "furlong" given for speed is not known/,
    ],
    [
      ["pull.csv", "--column", "speed=2:kg"],
      2,
      "wrong-dimension",
      /kg is the unit of a mass, speed is a speed/,
    ],
    [
      ["pull.csv", "--column", "sped=2"],
      2,
      "unknown-quantity",
      /cannot be declared as "sped"; did you mean speed=/,
    ],
    [["pull.csv", "--column", "speed"], 2, "option", /--column is "speed", but NAME=COLUMN is needed/],
    [["pull.csv", "--column", "speed=2", "--column", "speed=3"], 2, "option", /two columns for speed/],
    [["pull.csv", "--rate", "20"], 2, "missing-unit", /--rate: "20" has no unit/],
    [["pull.csv", "--rate", "-3Hz"], 2, "option", /--rate is "-3Hz", but it must be above 0/],
    [["pull.csv", "--max-gap", "2kg"], 2, "wrong-dimension", /--max-gap: 2kg is a mass, a time is needed/],
    [
      ["pull.csv", "--rate", "10Hz", "--column", "time=1"],
      2,
      "rate-and-time",
      /both a rate and the time column/,
    ],
    [["pull.csv", "--fast"], 2, "option", /unknown option '--fast'/],
  ];
  for (const [args, exitCode, errorCode, words] of cases) {
    it(`is told: ${args.join(" ")}`, async () => {
      const {document, code, err} = await printed("slice", ...args, ...BAND);
      assert.match(err, words);
      assert.equal(document.error.code, errorCode);
      assert.equal(code, exitCode);
      assert.equal(err.trimEnd().split("\n").length, 1);
    });
  }
  it("is told for bands: standstill, equal ends, no unit, another dimension, an end left out", async () => {
    const band = async (from: string, to: string) => {
      const {document, code, err} = await printed("slice", "pull.csv", "--from", from, "--to", to);
      assert.equal(code, 2);
      assert.deepEqual(document.passes, []);
      return err;
    };
    assert.match(
      await band("0km/h", "100km/h"),
      /touches standstill \(0 km\/h\); launch and slip swamp a part; rolling pulls only/,
    );
    assert.match(await band("60km/h", "60km/h"), /starts and ends at 60 km\/h/);
    assert.match(await band("60", "100km/h"), /from: "60" has no unit, a speed is needed/);
    assert.match(await band("60kg", "100km/h"), /from: 60kg is a mass, a speed is needed/);
    assert.match(await band("60,5km/h", "100km/h"), /decimal comma; write the decimal point/);
    const left = await printed("slice", "pull.csv", "--from", "60km/h");
    assert.match(left.err, /--to is missing/);
  });
  it("is told for a file without read permission", async () => {
    write("locked.csv", pull);
    chmodSync(join(folder, "locked.csv"), 0);
    try {
      readFileSync(join(folder, "locked.csv"));
      return; // this user may read everything
    } catch {
      assert.match(
        (await printed("slice", "locked.csv", ...BAND)).err,
        /may not be read; change its permissions/,
      );
    }
  });
  it("gives one document also for a command that does not exist", async () => {
    const {out, err, code} = await runMain(folder, "slise", "--json");
    assert.equal(code, 2);
    assert.match(err, /unknown command 'slise' \(Did you mean slice\?\)/);
    assert.deepEqual(Object.keys(JSON.parse(out)), ["format", "error"]);
  });
});

describe("fairpull", () => {
  it("prints help and version with exit code 0", async () => {
    assert.match((await runMain(folder)).out, /inspect.*slice/s);
    assert.equal((await runMain(folder, "--version")).out, `${VERSION}\n`);
    const help = await runMain(folder, "slice", "--help");
    assert.equal(help.code, 0);
    assert.match(help.out, /--max-gap/);
  });
  it("tells an unexpected error in one line and keeps its stack back unless asked", async () => {
    const io = (stderr: string[]) => ({
      stdout: {
        write() {
          throw new TypeError("the disk is on fire");
        },
      },
      stderr: {write: (text: string) => stderr.push(text)},
      cwd: folder,
      exitCode: 0 as const,
    });
    const {main} = await import("../../lib/cli/main.ts");
    const quiet: string[] = [];
    assert.equal(await main(["inspect", "pull.csv"], io(quiet)), 1);
    assert.deepEqual(quiet, [
      "fairpull: internal error, the disk is on fire; run again with FAIRPULL_DEBUG=1 to see where\n",
    ]);
    process.env["FAIRPULL_DEBUG"] = "1";
    const loud: string[] = [];
    await main(["inspect", "pull.csv"], io(loud));
    delete process.env["FAIRPULL_DEBUG"];
    assert.match(loud.join(""), /at .*inspect/);
  });
});

describe("documentText", () => {
  it("keeps key order, prints 12 digits and refuses NaN", () => {
    assert.equal(
      documentText({b: 1 / 3, a: [2, 0.1 + 0.2]}),
      '{\n  "b": 0.333333333333,\n  "a": [\n    2,\n    0.3\n  ]\n}\n',
    );
    assert.throws(() => documentText({a: Number.NaN}), {name: "RangeError", message: /"a" is NaN/});
  });
  it("sits beside a table for people", () => {
    assert.equal(textTable(["a", "long"], [["xyz", "1"]], [1]), "a    long\nxyz     1\n");
  });
});
