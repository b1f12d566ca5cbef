import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {
  appendFileSync,
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {cpuClock} from "../cpu-clock.ts";
import {writeMdf} from "../log/mdf-writer.ts";
import {runMain} from "./run-main.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-bad-"));
afterAll(() => {
  chmodSync(join(scratch, "locked", "log.csv"), 0o600);
  rmSync(scratch, {recursive: true, force: true});
});
const BAND = ["--from", "60km/h", "--to", "100km/h"];
const fixture = (name: string) =>
  readFileSync(fileURLToPath(new URL(`../fixtures/${name}`, import.meta.url)));
const pull = `Time [s],Speed [km/h]\n${Array.from({length: 150}, (_, i) => `${i / 10},${40 + 0.6 * i}\n`).join("")}`;

const mdf = writeMdf({
  data: [
    {
      groups: [
        {
          dataBytes: 16,
          channels: [
            {name: "t", unit: "s", type: 2, syncType: 1, dataType: 4, byteOffset: 0, bitCount: 64},
            {name: "Speed", unit: "km/h", dataType: 4, byteOffset: 8, bitCount: 64},
          ],
          records: Array.from(
            {length: 100},
            (_, i) => new Uint8Array(new Float64Array([i / 10, 40 + i]).buffer),
          ),
        },
      ],
    },
  ],
});

/** Each bad input stands in a folder of its own, as `file`, so that all three commands meet nothing else. */
interface Bad {
  name: string;
  file?: string;
  put(path: string): void;
  words: RegExp;
  exitCode?: 1 | 2;
}

const gpx = (inside: string, head = "") =>
  `<?xml version="1.0"?>${head}<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>${inside}</trkseg></trk></gpx>`;
const point = '<trkpt lat="48" lon="11"><ele>&leak;</ele><time>2031-05-17T14:05:30Z</time></trkpt>';

const cases: Bad[] = [
  {name: "empty", put: path => writeFileSync(path, ""), words: /the file is empty/},
  {name: "blank lines", put: path => writeFileSync(path, "\n\n \n"), words: /blank lines only/},
  {
    name: "cut in its header",
    put: path => writeFileSync(path, "Time [s],Spe"),
    words: /no row of numbers was found; line 1 reads "Time \[s\],Spe"/,
  },
  {
    name: "a Parquet file cut short",
    file: "log.parquet",
    put: path => writeFileSync(path, fixture("parquet/snappy-v1.parquet").subarray(0, 300)),
    words: /cut|damaged|footer|end/i,
  },
  {
    name: "an MDF file cut short",
    file: "log.mf4",
    put: path => writeFileSync(path, mdf.subarray(0, mdf.length - 900)),
    words: /block|bytes|cut|record/i,
  },
  {
    name: "binary",
    put: path =>
      writeFileSync(
        path,
        Uint8Array.from({length: 4000}, (_, i) => (i * 7919) % 256),
      ),
    words: /binary data, not text; give the log as the logger exports it/,
  },
  {
    name: "a picture called a log",
    put: path => writeFileSync(path, Uint8Array.of(0xff, 0xd8, 0xff, 0xe0, 0, 16, 74, 70, 73, 70)),
    words: /a JPEG picture/,
  },
  {
    name: "a ZIP archive",
    put: path => writeFileSync(path, Uint8Array.of(0x50, 0x4b, 3, 4, 20, 0, 0, 0, 8, 0, 1, 2, 3, 4)),
    words: /a ZIP archive \(or a spreadsheet\); unpack it, or export the sheet as CSV/,
  },
  {
    name: "records that are no table",
    file: "log.txt",
    put: path =>
      writeFileSync(
        path,
        Array.from(
          {length: 60},
          (_, i) =>
            `EVT ${i} door=${i % 2 ? "open" : "shut"}\nGPS lat:48.${i} lon:11.${i} ok\nENG state running since start\n`,
        ).join(""),
      ),
    words: /no row of numbers was found; line 1 reads "EVT 0 door=shut"/,
  },
  {
    name: "3 GB of nothing",
    put: path => {
      writeFileSync(path, "");
      truncateSync(path, 3_000_000_000);
    },
    words: /binary data, not text/,
  },
  {
    name: "rows with 3 GB of nothing behind them",
    put: path => {
      writeFileSync(path, pull.repeat(60)); // more than is looked at to tell what the file is
      truncateSync(path, 3_000_000_000);
    },
    words: /a line of more than \d+ bytes is no row of a table/,
  },
  {
    name: "other XML",
    file: "log.gpx",
    put: path => writeFileSync(path, "<?xml version='1.0'?><kml><Document/></kml>"),
    words: /this XML file is <kml>, not GPX/,
  },
  {
    name: "XML that fetches",
    file: "log.gpx",
    put: path =>
      writeFileSync(
        path,
        gpx(point, `<!DOCTYPE gpx [<!ENTITY leak SYSTEM "file://${join(scratch, "secret.txt")}">]>`),
      ),
    words: /document type declaration \(DOCTYPE\); entities are not expanded and nothing is fetched/,
  },
  {
    name: "XML that grows",
    file: "log.gpx",
    put: path => {
      const levels = Array.from({length: 20}, (_, k) => `<!ENTITY l${k + 1} "${`&l${k};`.repeat(10)}">`).join(
        "",
      );
      writeFileSync(path, gpx(point, `<!DOCTYPE gpx [<!ENTITY l0 "x">${levels}<!ENTITY leak "&l20;">]>`));
    },
    words: /document type declaration \(DOCTYPE\); entities are not expanded and nothing is fetched/,
  },
];

describe("bad input", () => {
  writeFileSync(join(scratch, "secret.txt"), "1234567");
  for (const {name, file = "log.csv", put, words, exitCode = 1} of cases) {
    it(`is refused by inspect, slice and gather: ${name}`, async () => {
      const folder = join(scratch, name.replaceAll(" ", "-"));
      mkdirSync(folder);
      put(join(folder, file));
      const spentMs = cpuClock();
      for (const args of [
        ["inspect", file],
        ["slice", file, ...BAND],
      ]) {
        const {out, err, code} = await runMain(folder, ...args, "--json");
        assert.equal(code, exitCode, `${args[0]}: ${err}`);
        assert.match(err, words);
        assert.doesNotMatch(out + err, /1234567/);
        assert.equal(err.trimEnd().split("\n").length, 1, "one line, no stack");
        const {error} = JSON.parse(out);
        assert.ok(error.code && error.words);
      }
      const {out, err, code} = await runMain(folder, "gather", ".", "--json");
      assert.equal(code, 1, err);
      const [skipped] = JSON.parse(out).skipped;
      assert.equal(skipped.file, file);
      assert.match(skipped.reason, words);
      assert.ok(spentMs() < 6000, "in time");
      rmSync(folder, {recursive: true});
    });
  }
  it("is refused where the path is a folder, is not there, leads in a circle, is a pipe or is locked", async () => {
    const folder = join(scratch, "paths");
    mkdirSync(join(folder, "sub"), {recursive: true});
    symlinkSync("loop.csv", join(folder, "loop.csv"));
    execFileSync("mkfifo", [join(folder, "pipe.csv")]);
    for (const [path, words] of [
      ["sub", /is a folder/],
      ["none.csv", /no such file|there is nothing there/],
      ["loop.csv", /link/],
      ["pipe.csv", /no regular file/],
    ] as const) {
      for (const args of [
        ["inspect", path],
        ["slice", path, ...BAND],
      ]) {
        const {err, code} = await runMain(folder, ...args);
        assert.equal(code, 2, `${args.join(" ")}: ${err}`);
        assert.match(err, words);
      }
    }
    rmSync(join(folder, "sub"), {recursive: true});
    const {out} = await runMain(folder, "gather", ".", "--json");
    const reasons = Object.fromEntries(
      JSON.parse(out).skipped.map(({file, reason}: {file: string; reason: string}) => [file, reason]),
    );
    assert.match(reasons["loop.csv"], /a link that leads back to itself/);
    assert.match(reasons["pipe.csv"], /no regular file/);
  });
  it("is refused where it may not be read", async ({skip}) => {
    const folder = join(scratch, "locked");
    mkdirSync(folder);
    writeFileSync(join(folder, "log.csv"), pull);
    chmodSync(join(folder, "log.csv"), 0);
    if (process.getuid?.() === 0) skip("the superuser may read everything");
    for (const args of [
      ["inspect", "log.csv"],
      ["slice", "log.csv", ...BAND],
    ]) {
      const {err, code} = await runMain(folder, ...args);
      assert.equal(code, 2);
      assert.match(err, /may not be read/);
    }
    const {out} = await runMain(folder, "gather", ".", "--json");
    assert.match(JSON.parse(out).skipped[0].reason, /may not be read/);
  });
  it("is read as far as it goes where only its last row is cut, whatever it is called", async () => {
    const folder = join(scratch, "odd-name");
    mkdirSync(folder);
    writeFileSync(join(folder, "log.gpx"), pull); // text, though it is called GPX
    appendFileSync(join(folder, "log.gpx"), "15");
    const {out, code} = await runMain(folder, "slice", "log.gpx", ...BAND, "--json");
    assert.equal(code, 0);
    const {passes, unread} = JSON.parse(out);
    assert.equal(passes.length, 1);
    assert.deepEqual(unread.rows, [{reason: "the last row is cut", count: 1, first_line: 152}]);
  });
});
