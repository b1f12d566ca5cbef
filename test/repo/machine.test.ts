import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {nodeVersionProblem} from "../../lib/bin/prepare/node-version.mjs";
import {npmCli} from "../../lib/bin/prepare/npm.mjs";

/** A machine on which these files exist; `links` names where a symbolic link leads. */
function machine(
  platform: string,
  execPath: string,
  env: Record<string, string>,
  files: string[],
  links: Record<string, string> = {},
) {
  const exists = (file: string) => files.includes(file) || file in links;
  return {platform, execPath, env, exists, realPath: (file: string) => links[file] ?? file};
}

describe("npmCli", () => {
  it("takes the npm that runs us", () => {
    const cli = "/home/a b/.nvm/lib/node_modules/npm/bin/npm-cli.js";
    const from = machine("linux", "/usr/bin/node", {npm_execpath: cli}, [cli]);
    assert.equal(npmCli(from), cli);
  });

  it("finds npm beside node.exe on Windows, blanks and backslashes included", () => {
    const cli = "C:\\Program Files\\nodejs\\node_modules\\npm\\bin\\npm-cli.js";
    const from = machine("win32", "C:\\Program Files\\nodejs\\node.exe", {}, [cli]);
    assert.equal(npmCli(from), cli);
  });

  it("finds a newer npm of the user on the PATH of Windows, where node has none beside it", () => {
    const cli = "C:\\Users\\An Na\\AppData\\Roaming\\npm\\node_modules\\npm\\bin\\npm-cli.js";
    const PATH = "C:\\Windows;C:\\Users\\An Na\\AppData\\Roaming\\npm";
    assert.equal(npmCli(machine("win32", "D:\\node\\node.exe", {Path: PATH}, [cli])), cli);
  });

  it("finds npm below the prefix of node on macOS", () => {
    const cli = "/usr/local/lib/node_modules/npm/bin/npm-cli.js";
    assert.equal(npmCli(machine("darwin", "/usr/local/bin/node", {}, [cli])), cli);
  });

  it("follows the link on PATH where a packager keeps npm elsewhere", () => {
    const cli = "/usr/share/nodejs/npm/bin/npm-cli.js"; // Debian's package npm
    const from = machine("linux", "/opt/node/bin/node", {PATH: "/bin:/usr/bin"}, [cli], {
      "/usr/bin/npm": cli,
    });
    assert.equal(npmCli(from), cli);
  });

  it("does not run another package manager as if it were npm", () => {
    const yarn = "/usr/lib/node_modules/yarn/bin/yarn.js";
    assert.equal(npmCli(machine("linux", "/usr/bin/node", {npm_execpath: yarn}, [yarn])), null);
  });
});

describe("nodeVersionProblem", () => {
  it("accepts the versions that package.json names", () => {
    for (const version of ["20.19.0", "20.20.2", "22.13.0", "24.0.0", "26.1.0"]) {
      assert.equal(nodeVersionProblem(version), null, version);
    }
  });

  it("says in words what is needed and what was found", () => {
    // 22.0 to 22.11 and 21 have no require of ES modules; 23 is not in the range of jsdom 29
    for (const version of ["18.20.4", "20.18.3", "21.7.3", "22.12.0", "23.11.0"]) {
      assert.match(
        nodeVersionProblem(version, "/usr/bin/node") ?? "accepted",
        new RegExp(`needs Node 20\\.19 or newer .* but /usr/bin/node is ${version.replaceAll(".", "\\.")}`),
      );
    }
  });
});
