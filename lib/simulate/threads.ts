import {availableParallelism} from "node:os";
import {Worker} from "node:worker_threads";
import type {ThreadJob, ThreadJobs} from "./thread-jobs.ts";

/** How work is spread. */
export interface ThreadOptions<R> {
  /** default one for each core */
  threads?: number;
  /** called as results come in, in any order */
  onResult?: (result: R, index: number) => void;
}

/**
 * Does a job on many items in worker threads; every thread takes the next item when it is free. The results do not depend on
 * the number of threads, since each item carries its own seed.
 *
 * Threads run the built library, also where this is called from its sources.
 *
 * @returns results in the order of the items
 * @throws the error of the first item that fails, after the other threads are stopped
 */
export async function inThreads<J extends ThreadJob>(
  job: J,
  items: readonly Parameters<ThreadJobs[J]>[0][],
  {threads = availableParallelism(), onResult}: ThreadOptions<ReturnType<ThreadJobs[J]>> = {},
): Promise<ReturnType<ThreadJobs[J]>[]> {
  type Result = ReturnType<ThreadJobs[J]>;
  const results = new Array<Result>(items.length);
  let next = 0;
  const workers = Array.from({length: Math.min(threads, items.length)}, () => new Worker(threadModule()));
  const work = (worker: Worker) =>
    new Promise<void>((resolve, reject) => {
      const give = () => {
        if (next === items.length) resolve();
        else worker.postMessage({job, index: next, item: items[next++]});
      };
      worker.on("message", ({index, result}: {index: number; result: Result}) => {
        results[index] = result;
        onResult?.(result, index);
        give();
      });
      worker.on("error", reject);
      give();
    });
  try {
    await Promise.all(workers.map(work));
  } finally {
    await Promise.all(workers.map(worker => worker.terminate()));
  }
  return results;
}

function threadModule(): URL {
  const built = import.meta.url.endsWith(".ts") ? "../dist/simulate/thread.js" : "./thread.js";
  return new URL(built, import.meta.url);
}
