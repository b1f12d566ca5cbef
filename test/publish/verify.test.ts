import assert from "node:assert/strict";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import {mkdtemp, rm} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {deflateSync, inflateSync} from "node:zlib";
import {afterAll, beforeAll, describe, it, vi} from "vitest";
import {publishNotebook} from "../../lib/dist/publish/publish.js";
import {verifyPage} from "../../lib/dist/publish/verify.js";
import {notebookText} from "../../lib/notebook/write.ts";
import {comparePages, compareValues} from "../../lib/publish/compare.ts";
import type {PageRecord} from "../../lib/publish/record.ts";
import {fileProblem, nameProblem} from "../../lib/publish/safe-file.ts";
import {verifySchema} from "../../lib/result/schemas/verify.ts";
import type {VerifyDocument} from "../../lib/result/verify-document.ts";
import {notebookOf} from "../kernel/notebook-of.ts";

const demo = fileURLToPath(new URL("../../data-demo/intake-elbow", import.meta.url));

let folder: string;
/** a page without its logs, and one that carries them */
let html: string;
let whole: string;

const at = (...names: string[]) => path.join(folder, ...names);

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull verify "));
  mkdirSync(at("notebook"));
  cpSync(demo, at("day"), {recursive: true});
  const notebook = notebookOf(
    'import * as fp from "fairpull";\nimport {writeFileSync} from "node:fs";\nwriteFileSync("left-behind.txt", "x");',
    'const session = fp.readSession("../day/session.yaml");\nconst result = fp.judge(session);\nfp.runOrder(result)',
    "fp.prose`The mean is ${result.arms.baseline.mean ?? 0} s.`",
    "fp.checksTable(result)",
    "fp.verdictCard(result)",
  );
  writeFileSync(at("notebook", "n.ipynb"), notebookText(notebook));
  await publishNotebook(at("notebook", "n.ipynb"), {out: at("page.html"), embedData: true});
  whole = readFileSync(at("page.html"), "utf8");
  await publishNotebook(at("notebook", "n.ipynb"), {out: at("page.html")});
  html = readFileSync(at("page.html"), "utf8");
  await rm(at("notebook", "left-behind.txt"));
});
afterAll(() => rm(folder, {recursive: true}));

async function verify(
  page: string,
  {data, ...options}: {data?: string | null; runNotebook?: boolean} = {},
): Promise<VerifyDocument> {
  writeFileSync(at("changed.html"), page);
  const given = data === null ? {} : {data: data ?? at("day")};
  return verifySchema.parse(await verifyPage(at("changed.html"), {...given, ...options}));
}

/** A copy of the day with one file changed. */
function dayWith(name: string, change: (text: string) => string): string {
  const copy = at(`day-${Math.abs(name.length * 31 + change.toString().length)}`);
  cpSync(demo, copy, {recursive: true});
  writeFileSync(path.join(copy, name), change(readFileSync(path.join(copy, name), "utf8")));
  return copy;
}

/** A page whose record was changed by somebody who knows how it is packed. */
function withRecord(page: string, change: (record: PageRecord) => void): string {
  return page.replace(
    /(<script type="text\/plain" id="fairpull-record" data-size=")\d+(">)([^<]*)/,
    (_all, start: string, middle: string, packed: string) => {
      const record = JSON.parse(inflateSync(Buffer.from(packed, "base64")).toString()) as PageRecord;
      change(record);
      const bytes = Buffer.from(JSON.stringify(record));
      return `${start}${bytes.length}${middle}${deflateSync(bytes, {level: 9}).toString("base64")}`;
    },
  );
}

describe("verifyPage", () => {
  it("passes on an untouched page, in another folder, and says what it computed again", async () => {
    const document = await verify(html);
    assert.deepEqual(
      [document.outcome, document.words, document.differences],
      ["same", "recomputed: same", []],
    );
    assert.deepEqual(document.recomputed, ["result", "checklist", "run-order", "checks"]);
    assert.equal(document.inputs.length, 13);
    assert.ok(document.inputs.every(input => input.state === "same"));
    assert.equal(existsSync(at("notebook", "left-behind.txt")), false); // no cell of the page was run
  });

  it("needs nothing but the page where the page carries its logs", async () => {
    assert.ok(whole.length - html.length < 60_000, `${whole.length - html.length} bytes for 12 logs`);
    const document = await verify(whole, {data: null});
    assert.equal(document.words, "recomputed: same");
    await assert.rejects(verify(html, {data: null}), /does not carry its logs; give --data FOLDER/);
  });

  it("finds one digit changed in the verdict, and says by how much", async () => {
    const {outcome, differences} = await verify(html.replace("−0.184 s", "−0.194 s"));
    assert.equal(outcome, "differs");
    assert.deepEqual(differences, [
      {where: "verdict-question", page: "−0.194", recomputed: "−0.184", by: 0.01},
    ]);
  });

  it("finds every digit of the text that is changed, one at a time, and every word", async () => {
    const start = html.indexOf('<main id="content">');
    const visible = [...html.slice(start, html.indexOf("</footer>")).matchAll(/>[^<]*?(\d)[^<]*</g)];
    assert.ok(visible.length > 60, `${visible.length} texts with digits`);
    for (const match of visible) {
      const place = start + match.index + match[0].indexOf(match[1]!);
      const digit = String((Number(match[1]) + 1) % 10);
      const changed = html.slice(0, place) + digit + html.slice(place + 1);
      assert.equal(comparePages(changed, html).length, 1, match[0]);
    }
    const {outcome, words} = await verify(html.replace("Shown better", "Shown worse"));
    assert.equal(outcome, "differs");
    assert.match(words, /page "Shown worse", recomputed "Shown better"/);
  });

  it("finds a forged result whose page was made to fit", async () => {
    const forged = withRecord(html.replaceAll("−0.184", "−0.284"), record => {
      const text = JSON.stringify(record.outputs).replaceAll("−0.184", "−0.284");
      record.outputs = JSON.parse(text) as PageRecord["outputs"];
      for (const output of record.outputs.flat()) {
        const result = "data" in output && (output.data["application/vnd.fairpull.result+json"] as never);
        if (result) (result as {effect: {estimate: number}}).effect.estimate -= 0.1;
      }
    });
    const {outcome, differences} = await verify(forged);
    assert.equal(outcome, "differs");
    const estimate = differences.find(({where}) => where === "result: effect.estimate")!;
    assert.ok(Math.abs(estimate.by! - 0.1) < 1e-9, JSON.stringify(estimate));
  });

  it("finds one byte changed in a log, and a log that is missing", async () => {
    const changed = await verify(html, {
      data: dayWith("run-03.csv", text => text.replace(/7(?=[^7]*$)/, "8")),
    });
    assert.equal(changed.outcome, "inputs-differ");
    assert.match(changed.words, /^inputs differ: run-03\.csv/);
    const data = dayWith("run-05.csv", text => `${text} `);
    await rm(path.join(data, "run-05.csv"));
    const missing = await verify(html, {data});
    assert.deepEqual([missing.outcome, missing.words], ["cannot-run", "cannot run: run-05.csv is missing"]);
  });

  it("finds an arm label swapped and another seed, in the session beside the logs and in the page", async () => {
    for (const change of [
      (text: string) => text.replace("run-02.csv, arm: changed", "run-02.csv, arm: baseline"),
      (text: string) => text.replace("arms:", "seed: 12\narms:"),
    ]) {
      const beside = await verify(html, {data: dayWith("session.yaml", change)});
      assert.equal(beside.outcome, "inputs-differ");
      assert.match(beside.words, /^inputs differ: session\.yaml/);
      const inside = await verify(
        withRecord(html, record => {
          record.session!.text = change(record.session!.text);
        }),
      );
      assert.equal(inside.outcome, "inputs-differ");
      assert.ok(inside.differences.some(({where}) => /^result: (seed|effect|runs)/.test(where)));
    }
  });

  it("refuses names that are absolute, leave the folder or are links, and reads nothing of them", async () => {
    const names: [string, RegExp][] = [
      ["/etc/hostname", /\/etc\/hostname is refused \(\/etc\/hostname is absolute/],
      ["../secret.csv", /\.\.\/secret\.csv is refused \(\.\.\/secret\.csv leaves the data folder/],
      ["link.csv", /link\.csv is refused \(link\.csv is a link/],
    ];
    const data = dayWith("run-01.csv", text => `${text}`);
    symlinkSync(path.join(demo, "run-01.csv"), path.join(data, "link.csv"));
    for (const [name, words] of names) {
      const page = withRecord(html, record => {
        record.session!.text = record.session!.text.replace("run-01.csv", name);
      });
      const {outcome, words: said} = await verify(page, {data});
      assert.equal(outcome, "cannot-run");
      assert.match(said, words);
    }
  });

  it("unpacks no more than a block says, and nothing beyond its limit", async () => {
    const bomb = deflateSync(Buffer.alloc(50 << 20)).toString("base64");
    const block = (size: number) =>
      html.replace(
        /id="fairpull-record" data-size="\d+">[^<]*/,
        `id="fairpull-record" data-size="${size}">${bomb}`,
      );
    assert.match((await verify(block(1000))).words, /does not unpack to the 1000 bytes it says/);
    assert.match((await verify(block(10 ** 11))).words, /would unpack to 100000000000 bytes, more than/);
    const record = /<script type="text\/plain" id="fairpull-record".*?<\/script>/s;
    assert.match((await verify(html.replace(record, ""))).words, /carries no record/);
    const twice = html.replace(record, found => found + found);
    assert.match((await verify(twice)).words, /carries the block fairpull-record twice/);
    const evil = withRecord(whole, page => {
      page.data[0]!.file = "../../escaped.csv";
    });
    assert.match(
      (await verify(evil, {data: null})).words,
      /a log named "\.\.\/\.\.\/escaped\.csv", which leaves/,
    );
  });

  it("says that another version of the library made the page, and computes it again", async () => {
    const older = withRecord(html, record => {
      record.versions = {...record.versions, fairpull: "0.0.9"};
    });
    const {notes, recomputed} = await verify(older);
    assert.match(notes[0]!, /made by fairpull 0\.0\.9 and computed again by/);
    assert.ok(recomputed.includes("result"));
  });

  it("runs the page's cells only when asked to, compares what they give, and leaves no file behind", async () => {
    vi.stubEnv("TMPDIR", mkdtempSync(path.join(tmpdir(), "verify-alone-"))); // others verify at the same time
    const document = await verify(html, {runNotebook: true});
    assert.deepEqual([document.outcome, document.not_recomputed], ["same", []]);
    assert.match(document.notes.join(), /this is no sandbox/);
    assert.deepEqual(readdirSync(tmpdir()), []);
    vi.unstubAllEnvs();
    assert.equal(existsSync(at("left-behind.txt")), false);
    const forged = withRecord(html.replaceAll("The mean is 5", "The mean is 6"), record => {
      record.outputs = JSON.parse(
        JSON.stringify(record.outputs).replace("The mean is 5", "The mean is 6"),
      ) as never;
    });
    const {differences} = await verify(forged, {runNotebook: true});
    assert.match(differences.find(({where}) => where.startsWith("cell 3"))!.where, /^cell 3 \(cell-3\)/);
  });
});

describe("compareValues", () => {
  it("takes rounding of the last steps for the same, and nothing else", () => {
    // by hand: 1e-9 of 5.3 is 5.3e-9
    assert.deepEqual(compareValues("a: ", {x: 5.3}, {x: 5.300000004}), []);
    assert.deepEqual(compareValues("a: ", {x: [1, 2]}, {x: [1, 2.5]}), [
      {where: "a: x.1", page: 2, recomputed: 2.5, by: 0.5},
    ]);
    assert.deepEqual(compareValues("a: ", {x: null}, {x: 0, y: "n"}), [
      {where: "a: x", page: null, recomputed: 0, by: null},
      {where: "a: y", page: null, recomputed: "n", by: null},
    ]);
  });
});

describe("safe file names", () => {
  it("stay inside their folder on every system", () => {
    for (const name of ["/a", "C:\\a", "c:a", "\\\\host\\a", "..", "a/../../b", "a\\..\\b", "", "a\0b"]) {
      assert.notEqual(nameProblem(name), null, JSON.stringify(name));
    }
    for (const name of ["a.csv", "logs/a.csv", "a..b.csv", "./a.csv"])
      assert.equal(nameProblem(name), null, name);
    assert.equal(fileProblem(demo, "session.yaml"), null);
    assert.equal(fileProblem(demo, "none.csv"), "missing");
    assert.equal(fileProblem(path.dirname(demo), "intake-elbow"), "is no regular file");
  });
});
