import assert from "node:assert/strict";
import {existsSync, readFileSync, rmSync} from "node:fs";
import {join} from "node:path";
import {afterEach, beforeEach, describe, it} from "vitest";
import {Project} from "./project.ts";

let project: Project;
beforeEach(() => {
  project = new Project();
});
afterEach(() => project.remove());

const has = (file: string) => existsSync(join(project.root, file));

describe("prepare.mjs: packages", () => {
  it("installs and builds in a path with blanks, and a second run does neither", async () => {
    const first = await project.prepare(["start", "--no-open"]);
    assert.equal(first.code, 0, first.stderr);
    assert.deepEqual(JSON.parse(first.stdout), {args: ["--no-open"], out: join(project.root, "out")});
    assert.deepEqual(
      project.npmCalls().map(call => call.args),
      [["ci", "--include=dev"]],
    );
    assert.equal(project.builds(), 1);
    const second = await project.prepare(["start"]);
    assert.equal(second.code, 0);
    assert.equal(second.stderr, "");
    assert.equal(project.npmCalls().length, 1);
    assert.equal(project.builds(), 1);
  });

  it("does a killed installation again", async () => {
    const killed = await project.prepare(["build"], {PRETEND: "killed"});
    assert.equal(killed.code, null); // ended by the signal
    assert.ok(has("node_modules/first/package.json"), "half of the packages are there");
    const next = await project.prepare(["build"]);
    assert.equal(next.code, 0, next.stderr);
    assert.match(next.stderr, /no complete installation of the packages is recorded/);
    assert.equal(project.npmCalls().length, 2);
  });

  it("does an installation again that was killed after a complete one", async () => {
    await project.prepare(["build"]);
    project.lock({first: {}, second: {version: "2.0.0"}});
    await project.prepare(["build"], {PRETEND: "killed"});
    project.lock({first: {}, second: {}, elsewhere: {optional: true}}); // the lock file of the complete one
    assert.match((await project.prepare(["build"])).stderr, /no complete installation/);
    assert.equal(project.npmCalls().length, 3);
  });

  it("installs again when the lock file changed, and names the reason", async () => {
    await project.prepare(["build"]);
    project.lock({first: {}, second: {version: "2.0.0"}});
    assert.match((await project.prepare(["build"])).stderr, /package-lock\.json changed/);
    assert.equal(project.npmCalls().length, 2);
  });

  it("installs again when a package was deleted", async () => {
    await project.prepare(["build"]);
    rmSync(join(project.root, "node_modules", "second"), {recursive: true});
    assert.match(
      (await project.prepare(["build"])).stderr,
      /1 packages are missing, node_modules\/second the first/,
    );
    assert.equal(project.npmCalls().length, 2);
  });

  it("asks for the compiler under NODE_ENV=production and with install scripts switched off", async () => {
    const env = {NODE_ENV: "production", npm_config_ignore_scripts: "true"};
    assert.equal((await project.prepare(["build"], env)).code, 0);
    assert.deepEqual(project.npmCalls(), [{args: ["ci", "--include=dev"], ...env}]);
    assert.equal((await project.prepare(["build"], env)).stderr, "");
  });

  it("stops where npm fails or leaves packages out, and does not record it as complete", async () => {
    const failing = await project.prepare(["build"], {PRETEND: "failing"});
    assert.equal(failing.code, 1);
    assert.match(failing.stderr, /npm ci ended with exit code 1/);
    const omitting = await project.prepare(["build"], {PRETEND: "omitting"});
    assert.equal(omitting.code, 1);
    assert.match(
      omitting.stderr,
      /left out 1 packages of package-lock\.json \(node_modules\/second the first\)/,
    );
    assert.equal(project.builds(), 0);
    assert.equal((await project.prepare(["build"])).code, 0);
  });
});

describe("prepare.mjs: build", () => {
  it("compiles again after a change, and removes what no source stands behind", async () => {
    project.write("lib/units/old.ts", "export const old = 1;\n");
    await project.prepare(["build"]);
    for (const file of ["units/old.js", "units/old.d.ts", "publish/page.css", "demo/day/session.yaml"]) {
      assert.ok(has(`lib/dist/${file}`), file);
    }
    rmSync(join(project.root, "lib", "units", "old.ts"));
    project.write("lib/index.ts", "export const answer: number = 43;\n");
    assert.match((await project.prepare(["build"])).stderr, /a source changed/);
    assert.match(readFileSync(join(project.root, "lib/dist/index.js"), "utf8"), /43/);
    assert.ok(!has("lib/dist/units/old.js") && !has("lib/dist/units/old.d.ts"), "stale output");
    assert.equal(project.npmCalls().length, 1);
  });

  it("brings back a deleted output", async () => {
    await project.prepare(["build"]);
    rmSync(join(project.root, "lib", "dist", "index.js"));
    assert.match((await project.prepare(["build"])).stderr, /lib\/dist\/index\.js is missing/);
    assert.ok(has("lib/dist/index.js"));
  });

  it("prints the compiler's errors, stops, and tries again next time", async () => {
    project.write("lib/index.ts", 'export const answer: number = "forty-two";\n');
    for (const attempt of [1, 2]) {
      const {code, stdout, stderr} = await project.prepare(["start"]);
      assert.equal(code, 1);
      assert.equal(stdout, "", "the task must not run");
      assert.match(stderr, /lib\/index\.ts\(1,14\): error TS2322/);
      assert.equal(project.builds(), attempt);
    }
    project.write("lib/index.ts", "export const answer: number = 42;\n");
    assert.equal((await project.prepare(["start"])).code, 0);
  });
});

describe("prepare.mjs: tasks", () => {
  it("hands extra arguments and FAIRPULL_REQUIRE to the tests", async () => {
    const {code, stdout} = await project.prepare(["test", "test/units", "-t", "two words"], {
      FAIRPULL_REQUIRE: "browser,jupyter",
    });
    assert.equal(code, 0);
    assert.deepEqual(JSON.parse(stdout), {
      args: ["run", "--config", "test/vitest.config.ts", "test/units", "-t", "two words"],
      require: "browser,jupyter",
    });
  });

  it("names the tasks when asked for another, and installs nothing", async () => {
    const {code, stderr} = await project.prepare(["strat"]);
    assert.equal(code, 2);
    assert.match(stderr, /unknown task "strat"; use one of start, test, build/);
    assert.equal(project.npmCalls().length, 0);
  });
});
