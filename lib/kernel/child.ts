import {followEverything} from "./context.ts";
import {writeMarks} from "./marks.ts";
import type {FromRunner, ToRunner} from "./messages.ts";
import {createRunner} from "./run.ts";

/** Entry of the process that runs the cells of one notebook; its parent is `child-process.ts`. */
const {reallyExit} = process as unknown as {reallyExit(code: number): never};
const send = (message: FromRunner) => {
  if (process.connected) process.send!(message.type === "done" ? {...message, marks: writeMarks()} : message);
};
const runner = createRunner({folder: process.cwd(), follow: followEverything, send});

process.on("message", (message: ToRunner) => {
  if (message.type === "run") runner.run(message);
  else if (message.type === "preload") runner.preload(message);
  else if (message.type === "finish") {
    process.channel!.unref();
    process.once("beforeExit", () => send({type: "finished"}));
  }
});
process.on("disconnect", () => reallyExit(0));
