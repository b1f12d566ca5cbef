import {main} from "../../lib/dist/cli/main.js";
import {requireBuild} from "../repo/built.ts";
import type {Printed} from "./run-main.ts";

/** Runs the command line of the built library in a folder, without a process: what draws pictures needs threads that run what is built. */
export async function builtMain(cwd: string, ...args: string[]): Promise<Printed> {
  requireBuild();
  const printed = {out: "", err: ""};
  const code = await main(args, {
    stdout: {write: (text: string) => (printed.out += text)},
    stderr: {write: (text: string) => (printed.err += text)},
    cwd,
    exitCode: 0,
  });
  return {...printed, code};
}
