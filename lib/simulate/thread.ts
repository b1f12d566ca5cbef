import {parentPort} from "node:worker_threads";
import {THREAD_JOBS, type ThreadJob} from "./thread-jobs.ts";

/** What a thread is sent; it answers with `{index, result}`. */
export interface ThreadTask {
  job: ThreadJob;
  index: number;
  item: never;
}

// The module that a worker thread runs.
parentPort?.on("message", ({job, index, item}: ThreadTask) => {
  parentPort!.postMessage({index, result: THREAD_JOBS[job](item)});
});
