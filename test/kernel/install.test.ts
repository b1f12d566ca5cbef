import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {Ajv2020} from "ajv/dist/2020.js";
import {afterAll, beforeEach, describe, it} from "vitest";
import {jupyterDataFolder} from "../../lib/kernel/install.ts";
import {jsonSchemas} from "../../lib/result/schemas/documents.ts";
import {requireBuild} from "../repo/built.ts";
import {ROOT} from "../repo/tracked-files.ts";
import {requireTool} from "../require.ts";
import {pythonOf} from "./front-end.ts";

const jupyter = requireTool("jupyter");
const schemas = jsonSchemas();

describe("the kernel's place among Jupyter's", () => {
  let data: string;
  const made: string[] = [];
  beforeEach(() => {
    requireBuild();
    data = mkdtempSync(path.join(tmpdir(), "jupyter data "));
    made.push(data);
  });
  afterAll(() => {
    for (const folder of made) rmSync(folder, {recursive: true});
  });

  /** Runs the command line; its exit code, output and complaints. */
  function fairpull(...args: string[]): {code: number; out: string; err: string} {
    const env = {...process.env, JUPYTER_DATA_DIR: data, JUPYTER_PATH: ""};
    try {
      const program = path.join(ROOT, "lib", "bin", "fairpull.mjs");
      return {
        code: 0,
        out: execFileSync(process.execPath, [program, ...args], {env, stdio: "pipe"}).toString(),
        err: "",
      };
    } catch (error) {
      const {status, stdout, stderr} = error as {status: number; stdout: Buffer; stderr: Buffer};
      return {code: status, out: String(stdout), err: String(stderr)};
    }
  }
  const specFile = (name: string) => path.join(data, "kernels", name, "kernel.json");

  it("is written with absolute paths and interrupts by message, and taken away whole", () => {
    const {code, out} = fairpull("kernel", "install", "--json");
    assert.equal(code, 0);
    const document: {kernels: {name: string}[]} = JSON.parse(out);
    assert.ok(new Ajv2020().validate(schemas["kernel.json"]!, document));
    assert.deepEqual(
      document.kernels.map(({name}) => name),
      ["fairpull", "tslab"],
    );
    const spec = JSON.parse(readFileSync(specFile("fairpull"), "utf8"));
    assert.equal(spec.interrupt_mode, "message");
    assert.equal(spec.language, "typescript");
    const [node, , , kernel, , , file] = spec.argv;
    assert.equal(node, process.execPath);
    assert.ok(path.isAbsolute(kernel) && existsSync(kernel), kernel);
    assert.equal(file, "{connection_file}");
    assert.equal(fairpull("kernel", "install").code, 0); // again, over itself
    assert.equal(fairpull("kernel", "uninstall").code, 0);
    assert.deepEqual([existsSync(specFile("fairpull")), existsSync(specFile("tslab"))], [false, false]);
    const again = fairpull("kernel", "uninstall");
    assert.equal(again.code, 2);
    assert.match(again.err, /no kernel named fairpull is installed/);
  });

  it("leaves a kernel alone that it did not write", () => {
    mkdirSync(path.dirname(specFile("tslab")), {recursive: true});
    const theirs = '{"argv": ["tslab"], "display_name": "TypeScript"}';
    writeFileSync(specFile("tslab"), theirs);
    assert.match(fairpull("kernel", "install").out, /^installed fairpull: [^\n]+\n$/);
    const refused = fairpull("kernel", "install", "--name", "tslab");
    assert.equal(refused.code, 2);
    assert.match(refused.err, /was not written by fairpull and is left alone; .*--name/);
    assert.equal(fairpull("kernel", "uninstall").code, 0);
    assert.equal(readFileSync(specFile("tslab"), "utf8"), theirs);
  });

  it.skipIf(!jupyter.path)(`is found by Jupyter${jupyter.title}`, () => {
    fairpull("kernel", "install");
    const listed = execFileSync(
      pythonOf(jupyter.path!),
      [
        "-c",
        "from jupyter_client.kernelspec import *; print(KernelSpecManager().get_kernel_spec('fairpull').interrupt_mode)",
      ],
      {env: {...process.env, JUPYTER_DATA_DIR: data}},
    );
    assert.equal(listed.toString().trim(), "message");
  });

  it("is looked for where jupyter_core keeps it on each system", () => {
    // jupyter_core 5, paths.jupyter_data_dir: JUPYTER_DATA_DIR; ~/Library/Jupyter; %APPDATA%\jupyter; $XDG_DATA_HOME/jupyter
    assert.equal(jupyterDataFolder({JUPYTER_DATA_DIR: "/d"}, "linux", "/h/a"), "/d");
    assert.equal(jupyterDataFolder({}, "linux", "/h/a"), "/h/a/.local/share/jupyter");
    assert.equal(jupyterDataFolder({XDG_DATA_HOME: "/x"}, "linux", "/h/a"), "/x/jupyter");
    assert.equal(jupyterDataFolder({}, "darwin", "/u/a"), "/u/a/Library/Jupyter");
    assert.equal(jupyterDataFolder({APPDATA: "/a/r"}, "win32", "/a"), "/a/r/jupyter");
  });

  it("is told by doctor: missing with the command, then there, then wrong where its program is gone", () => {
    const kernelOf = ({out}: {out: string}) =>
      JSON.parse(out).items.find(({name}: {name: string}) => name === "kernel");
    const missing = fairpull("doctor", "--json");
    assert.equal(missing.code, 0);
    assert.ok(new Ajv2020().validate(schemas["doctor.json"]!, JSON.parse(missing.out)));
    assert.deepEqual(
      JSON.parse(missing.out).items.map(({name}: {name: string}) => name),
      ["Node", "ZeroMQ", "kernel", "danfojs-node", "Jupyter", "Chromium"],
    );
    assert.equal(kernelOf(missing).state, "missing");
    assert.equal(kernelOf(missing).hint, "run: fairpull kernel install");
    fairpull("kernel", "install");
    assert.equal(kernelOf(fairpull("doctor", "--json")).state, "there");
    writeFileSync(
      specFile("fairpull"),
      readFileSync(specFile("fairpull"), "utf8").replace("kernel.js", "gone.js"),
    );
    assert.match(
      fairpull("doctor").out,
      /^wrong +kernel: .*gone\.js, which is gone; run: fairpull kernel install$/m,
    );
  });
});
