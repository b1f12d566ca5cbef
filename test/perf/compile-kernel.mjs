// @ts-nocheck: only `npm run bench` has what this imports
import {createHash} from "node:crypto";
import {readFileSync, writeFileSync} from "node:fs";
import {main} from "assemblyscript/asc";

const SOURCE = new URL("../../lib/log/row-kernel.as", import.meta.url);
const COMPILED = new URL("../../lib/log/row-kernel-bytes.ts", import.meta.url);
const OPTIONS =
  "-O3 --runtime stub --noAssert --enable simd --enable threads --importMemory --sharedMemory --initialMemory 1 --maximumMemory 65536 --noExportMemory";

/**
 * The text of `row-kernel-bytes.ts` for the source as it is.
 *
 * @returns {Promise<string>}
 */
export async function compiledKernel() {
  const source = readFileSync(SOURCE, "utf8");
  let bytes = Buffer.alloc(0);
  const {error, stderr} = await main(["kernel.ts", "-o", "kernel.wasm", ...OPTIONS.split(" ")], {
    readFile: name => (name === "kernel.ts" ? source : null),
    writeFile: (_, contents) => {
      bytes = Buffer.from(contents);
    },
    listFiles: () => [],
  });
  if (error) throw new Error(`row-kernel.as: ${stderr.toString()}`);
  const lines = bytes.toString("base64").match(/.{1,100}/g) ?? [];
  return `/** \`row-kernel.as\` compiled: written by \`node test/perf/compile-kernel.mjs\`, after \`npm run bench\` has installed the compiler. */
export const ROW_KERNEL = {
  /** SHA-256 of the source that these bytes were made from */
  source: "${createHash("sha256").update(source).digest("hex")}",
  base64: [
${lines.map(line => `    "${line}",`).join("\n")}
  ].join(""),
};
`;
}

if (process.argv[1] === new URL(import.meta.url).pathname) writeFileSync(COMPILED, await compiledKernel());
