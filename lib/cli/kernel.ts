import type {Command} from "commander";
import {findKernel, installKernel, KERNEL_NAME, uninstallKernel} from "../kernel/install.ts";
import {InputError} from "../result/error.ts";
import type {KernelDocument} from "../result/kernel-documents.ts";
import type {CommandIO} from "./io.ts";
import {documentText} from "./output.ts";

/** Name that notebooks carry which also run on the unmodified tslab kernel; ours takes it where nobody has it. */
const USUAL_NAME = "tslab";

/** Writes the kernelspecs: our own, and the one that notebooks usually ask for where no other kernel has that name. */
export function installKernels(name?: string): KernelDocument {
  const usual = findKernel(USUAL_NAME);
  const names = name === undefined ? [KERNEL_NAME, ...(usual && !usual.isOurs ? [] : [USUAL_NAME])] : [name];
  const kernels = names.map(each => ({name: each, folder: installKernel(each).folder}));
  return {format: "fairpull.kernel/1", action: "install", kernels};
}

/**
 * Removes the kernelspecs that `installKernels` wrote.
 *
 * @throws {InputError} there is none
 */
export function uninstallKernels(name?: string): KernelDocument {
  const usual = findKernel(USUAL_NAME);
  const names = name === undefined ? [KERNEL_NAME, ...(usual?.isOurs ? [USUAL_NAME] : [])] : [name];
  const kernels = names.flatMap(each => {
    const folder = uninstallKernel(each);
    return folder === null ? [] : [{name: each, folder}];
  });
  if (kernels.length === 0) {
    throw new InputError(2, {
      code: "no-kernel",
      words: `no kernel named ${names.join(" or ")} is installed`,
      hint: "set JUPYTER_DATA_DIR as it was when it was installed, or see fairpull doctor",
    });
  }
  return {format: "fairpull.kernel/1", action: "uninstall", kernels};
}

/** `fairpull kernel install` and `fairpull kernel uninstall`. */
export function registerKernel(program: Command, io: CommandIO): void {
  const command = program
    .command("kernel")
    .description("put the kernel where Jupyter front-ends find it, or take it away");
  const done = (document: KernelDocument, words: string, options: {json?: boolean}) => {
    if (options.json) io.stdout.write(documentText(document));
    else for (const {name, folder} of document.kernels) io.stdout.write(`${words} ${name}: ${folder}\n`);
  };
  command
    .command("install")
    .description("write the kernelspec into Jupyter's folder of the user (JUPYTER_DATA_DIR, where it is set)")
    .option("--name <name>", "name that notebooks call it by; default fairpull, and tslab where that is free")
    .option("--json", "print one JSON document")
    .action((options: {name?: string; json?: boolean}) =>
      done(installKernels(options.name), "installed", options),
    );
  command
    .command("uninstall")
    .description("remove what kernel install wrote")
    .option("--name <name>", "the name it was installed under")
    .option("--json", "print one JSON document")
    .action((options: {name?: string; json?: boolean}) =>
      done(uninstallKernels(options.name), "removed", options),
    );
}
