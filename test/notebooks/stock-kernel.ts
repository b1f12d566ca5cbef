import {mkdirSync, mkdtempSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";

/** Environment in which Jupyter finds one kernel, the unmodified tslab, under the name that notebooks ask for. */
export function stockKernelEnvironment(): NodeJS.ProcessEnv {
  const data = mkdtempSync(join(tmpdir(), "jupyter-data-"));
  const folder = join(data, "kernels", "tslab");
  mkdirSync(folder, {recursive: true});
  const tslab = createRequire(import.meta.url).resolve("tslab/bin/tslab");
  const spec = {
    argv: [process.execPath, tslab, "kernel", "--config-path={connection_file}"],
    display_name: "TypeScript",
    language: "typescript",
  };
  writeFileSync(join(folder, "kernel.json"), JSON.stringify(spec));
  return {...process.env, JUPYTER_DATA_DIR: data, JUPYTER_CONFIG_DIR: data, IPYTHONDIR: data};
}
