import assert from "node:assert/strict";
import {type ExecFileException, execFile} from "node:child_process";
import {existsSync, mkdirSync, mkdtempSync, readdirSync, realpathSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {publint} from "publint";
import {formatMessage} from "publint/utils";
import {afterAll, beforeAll, describe, it} from "vitest";
import {npmCli, THIS_MACHINE} from "../../lib/bin/prepare/npm.mjs";
import {requireBuild} from "./built.ts";
import {ROOT} from "./tracked-files.ts";

/** Runs a script with this node; npm's settings of the run around us must not reach the npm inside. */
function node(args: string[], cwd: string): Promise<{code: number; stdout: string; stderr: string}> {
  const env = Object.fromEntries(
    Object.entries(process.env).filter(([name]) => !/^npm_|^NODE_ENV$|^VITEST/i.test(name)),
  );
  return new Promise(done => {
    execFile(
      process.execPath,
      args,
      {cwd, env, maxBuffer: 1e8},
      (error: ExecFileException | null, stdout, stderr) =>
        done({code: error === null ? 0 : Number(error.code ?? 1), stdout, stderr}),
    );
  });
}

async function npm(args: string[], cwd: string): Promise<string> {
  const cli = npmCli(THIS_MACHINE);
  assert.ok(cli, "npm was not found");
  const {code, stdout, stderr} = await node(
    [cli, ...args, "--no-audit", "--no-fund", "--prefer-offline"],
    cwd,
  );
  assert.equal(code, 0, `npm ${args.join(" ")}: ${stderr}`);
  return stdout;
}

describe("the package", () => {
  // realpath: on macOS the temporary folder is a link
  const folder = realpathSync(mkdtempSync(join(tmpdir(), "fairpull package ")));
  const empty = join(folder, "empty folder");
  let packed: {filename: string; files: {path: string}[]; unpackedSize: number};
  beforeAll(async () => {
    requireBuild();
    mkdirSync(empty);
    const answer = JSON.parse(await npm(["pack", "--json", "--pack-destination", folder], join(ROOT, "lib")));
    packed = Array.isArray(answer) ? answer[0] : Object.values(answer)[0];
    // the cache has every package since npm ci; a scratch folder has no lock file, so npm reads versions from there
    await npm(["install", "--omit=dev", join(folder, packed.filename)], empty);
  }, 120_000);
  afterAll(() => rmSync(folder, {recursive: true, force: true}));

  it("has no fault that publint knows", async () => {
    const {messages, pkg} = await publint({pkgDir: join(ROOT, "lib"), level: "suggestion", strict: true});
    assert.deepEqual(
      messages.map(message => formatMessage(message, pkg, {color: false})),
      [],
    );
  });

  it("holds the build, the schemas, the demo and the words, and neither sources nor notes of the build", () => {
    const paths = packed.files.map(({path}) => path);
    for (const wanted of [
      "dist/index.js",
      "dist/index.d.ts",
      "bin/fairpull.mjs",
      "README.md",
      "CHANGELOG.md",
      "LICENSE",
    ]) {
      assert.ok(paths.includes(wanted), `${wanted} is not packed`);
    }
    assert.ok(
      paths.some(path => path.startsWith("schema/")),
      "no schema is packed",
    );
    assert.ok(
      paths.some(path => /^dist\/demo\/.*\/session\.yaml$/.test(path)),
      "no demo session is packed",
    );
    const unwanted = paths.filter(path => /(?<!\.d)\.ts$|^dist\/\.|prepare|\.test\.|tsconfig/.test(path));
    assert.deepEqual(unwanted, []);
  });

  it("judges its demo session in an empty folder", async () => {
    const demo = join(empty, "node_modules", "fairpull", "dist", "demo");
    const fairpull = join(empty, "node_modules", "fairpull", "bin", "fairpull.mjs");
    const scenario = readdirSync(demo).find(name => name === "intake-elbow")!;
    const {code, stdout, stderr} = await node(
      [fairpull, "judge", join(demo, scenario, "session.yaml"), "--json"],
      empty,
    );
    assert.equal(code, 0, stderr);
    const document = JSON.parse(stdout);
    assert.equal(document.format, "fairpull.judge/1");
    assert.ok(document.verdict.words.length > 20, "the verdict has no words");
    assert.equal(typeof document.effect.interval.low, "number");
    // the same session in the repository gives the same numbers
    const here = await node(
      [
        join(ROOT, "lib/bin/fairpull.mjs"),
        "judge",
        join(ROOT, "data-demo", scenario, "session.yaml"),
        "--json",
      ],
      empty,
    );
    assert.deepEqual(document.effect, JSON.parse(here.stdout).effect);
    assert.deepEqual(document.verdict, JSON.parse(here.stdout).verdict);
  });

  it("is installed with its command, and without danfojs, which is for notebooks only", () => {
    assert.ok(
      existsSync(
        join(empty, "node_modules", ".bin", process.platform === "win32" ? "fairpull.cmd" : "fairpull"),
      ),
    );
    assert.ok(!existsSync(join(empty, "node_modules", "danfojs-node")));
  });

  it("can be imported as a library", async () => {
    const {code, stdout, stderr} = await node(
      ["--input-type=module", "--eval", 'console.log(Object.keys(await import("fairpull")).length)'],
      empty,
    );
    assert.equal(code, 0, stderr);
    assert.ok(Number(stdout) > 5, `only ${stdout.trim()} names`);
  });
});
