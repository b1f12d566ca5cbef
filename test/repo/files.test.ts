import assert from "node:assert/strict";
import {readFileSync, statSync} from "node:fs";
import {join} from "node:path";
import {describe, it} from "vitest";
import {ROOT, trackedFiles} from "./tracked-files.ts";

const FILES = trackedFiles();
const read = (file: string) => readFileSync(join(ROOT, file));
const json = (file: string) => JSON.parse(read(file).toString());
/** Files whose bytes are their point, as .gitattributes has them. */
const ODD = /^test\/fixtures\/odd\//;
const texts = FILES.filter(file => !ODD.test(file))
  .map(file => ({file, text: read(file)}))
  .filter(({text}) => !text.includes(0))
  .map(({file, text}) => ({file, text: text.toString()}));

/** "file:line: what" for every match. */
function found(pattern: RegExp, from = texts): string[] {
  return from.flatMap(({file, text}) =>
    text.split("\n").flatMap((line, index) => {
      const match = pattern.exec(line);
      return match ? [`${file}:${index + 1}: ${match[0]}`] : [];
    }),
  );
}

describe("package.json and the lock file", () => {
  const manifests = [json("package.json"), json("lib/package.json")];

  it("name every direct dependency exactly", () => {
    const kinds = ["dependencies", "devDependencies", "peerDependencies", "optionalDependencies"];
    const loose = manifests.flatMap(manifest =>
      kinds
        .flatMap(kind => Object.entries<string>(manifest[kind] ?? {}))
        .filter(([, version]) => !/^\d+\.\d+\.\d+$/.test(version))
        .map(([name, version]) => `${name} ${version}`),
    );
    assert.deepEqual(loose, []);
    for (const target of Object.values<string>(manifests[0].overrides))
      assert.match(target, /@\d+\.\d+\.\d+$/);
  });

  it("agree with each other", () => {
    const lock = json("package-lock.json").packages;
    for (const [place, manifest] of [
      ["", manifests[0]],
      ["lib", manifests[1]],
    ]) {
      for (const key of ["dependencies", "devDependencies", "peerDependencies", "engines"]) {
        assert.deepEqual(lock[place][key], manifest[key], `${key} of "${place}" in package-lock.json`);
      }
    }
    assert.equal(manifests[0].engines.node, manifests[1].engines.node);
    assert.equal(manifests[0].dependencies["danfojs-node"], manifests[1].peerDependencies["danfojs-node"]);
  });

  it("hold no download address, so that any mirror serves", () => {
    const {packages} = json("package-lock.json");
    const addressed = Object.keys(packages).filter(
      place => packages[place].resolved !== undefined && !packages[place].link,
    );
    assert.deepEqual(addressed, []);
    assert.match(read(".npmrc").toString(), /^omit-lockfile-registry-resolved=true$/m);
    assert.match(read(".npmrc").toString(), /^engine-strict=true$/m);
  });

  it("start every job by one node script, without shell and without pre and post scripts", () => {
    for (const manifest of manifests) {
      for (const [name, command] of Object.entries<string>(manifest.scripts ?? {})) {
        assert.match(command, /^(node lib\/bin\/prepare\.mjs [a-z]+|biome check --write \.)$/, name);
        assert.doesNotMatch(name, /^(pre|post)|install|prepare/);
      }
    }
  });
});

describe("the files of the repository", () => {
  it.skipIf(process.platform === "win32")("are executable where npm would make them so", () => {
    // npm sets the bit when it links a command; committed without it, an installation would leave a change behind
    assert.equal(statSync(join(ROOT, "lib/bin/fairpull.mjs")).mode & 0o111, 0o111);
    assert.equal(statSync(join(ROOT, ".ci/run")).mode & 0o111, 0o111);
  });

  it("name no package registry", () => {
    // put together here, so that this file does not name them
    const hosts = [
      "registry[.]npm",
      "npmjs[.]org/",
      "registry[.]yarn",
      "pypi[.]org",
      "files[.]pythonhosted",
      "crates[.]io",
    ];
    assert.deepEqual(found(new RegExp(hosts.join("|"), "i")), []);
  });

  it("name no path of the machine they were written on", () => {
    const paths = ["/root/", "/work/", "/home/(?!a b/|user/|anna/)[a-z]", "/Users/(?!Anna/)[A-Z]"];
    const own = texts.filter(({file}) => file !== "test/repo/files.test.ts");
    assert.deepEqual(found(new RegExp(paths.map(path => `(?<![\\w.])${path}`).join("|")), own), []);
    assert.deepEqual(
      found(new RegExp(ROOT.replace(/[\\/]+$/, "").replace(/[.*+?^${}()|[\]\\]/g, "\\$&"))),
      [],
    );
  });

  it("end their lines by LF, and their last line too", () => {
    assert.deepEqual(
      texts.filter(({text}) => text.includes("\r")).map(({file}) => file),
      [],
    );
    const unended = texts.filter(
      ({file, text}) => /\.(ts|mjs|md|json|ya?ml)$/.test(file) && !text.endsWith("\n"),
    );
    assert.deepEqual(
      unended.map(({file}) => file),
      [],
    );
  });

  it("use no clock, no unseeded chance and no locale in the computing part of lib/", () => {
    const computing = texts.filter(({file}) => /^lib\/(?!kernel\/|cli\/|bin\/).*\.ts$/.test(file));
    const code = computing.map(({file, text}) => ({file, text: withoutComments(text)}));
    assert.deepEqual(
      found(
        /Math\.random(?! = )|Date\.now|new Date\(\)|performance\.now|\.toLocale\w*|\bIntl\.|localeCompare/,
        code,
      ),
      [],
    );
  });

  it("hold notebooks without outputs, counts and timings", () => {
    const notebooks = FILES.filter(file => file.endsWith(".ipynb") && !file.startsWith("test/fixtures/"));
    for (const file of notebooks) {
      const {cells, nbformat, nbformat_minor} = json(file);
      assert.deepEqual([nbformat, nbformat_minor], [4, 5], file);
      for (const cell of cells) {
        assert.ok(cell.id, `${file}: a cell without id`);
        if (cell.cell_type !== "code") continue;
        assert.deepEqual(cell.outputs, [], `${file}, cell ${cell.id}`);
        assert.equal(cell.execution_count, null, `${file}, cell ${cell.id}`);
        assert.equal(cell.metadata.execution, undefined, `${file}, cell ${cell.id}`);
      }
    }
  });

  it("include what a visitor looks for", () => {
    const wanted = [
      "README.md",
      "DEVELOPERS.md",
      "LICENSE",
      "lib/LICENSE",
      "lib/README.md",
      "lib/CHANGELOG.md",
    ];
    assert.deepEqual(
      [...wanted, ".github/SECURITY.md", ".ci/run", "lib/bin/fairpull.mjs"].filter(
        file => !FILES.includes(file),
      ),
      [],
    );
    assert.match(read("lib/CHANGELOG.md").toString(), /^# Changes\n\n## .*\n\n\*\*Numbers that change/);
    assert.ok(
      read("lib/CHANGELOG.md").includes(`## ${json("lib/package.json").version}\n`),
      "lib/CHANGELOG.md has no heading for the version of lib/package.json",
    );
  });
});

/** Comments blanked out, lines kept: words about a clock are no clock. */
function withoutComments(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\/|(?<![:"'`])\/\/.*/g, comment => comment.replace(/[^\n]/g, " "));
}
