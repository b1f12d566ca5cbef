import {Worker} from "node:worker_threads";
import type {Painter, PictureRequest} from "./picture.ts";

/**
 * A painter in a thread of its own, so that pictures are drawn while cells run. Plotly is loaded with the first
 * request or by `warm`. The thread does not keep the process alive while it has nothing to draw.
 */
export function startPainter(): Painter {
  const worker = new Worker(new URL("./painter-thread.js", import.meta.url));
  const waiting = new Map<number, {resolve: (svg: string) => void; reject: (error: Error) => void}>();
  let last = 0;
  worker.on("message", ({id, svg, error}: {id: number; svg?: string; error?: string}) => {
    const request = waiting.get(id);
    waiting.delete(id);
    if (waiting.size === 0) worker.unref();
    if (svg === undefined) request?.reject(new Error(error));
    else request?.resolve(svg);
  });
  worker.on("error", error => {
    for (const {reject} of waiting.values()) reject(error as Error);
    waiting.clear();
  });
  worker.unref(); // after the listeners: adding one for messages makes the thread count again
  return {
    warm: () => worker.postMessage({id: 0, request: null}),
    svg(request: PictureRequest) {
      worker.ref();
      return new Promise((resolve, reject) => {
        waiting.set(++last, {resolve, reject});
        worker.postMessage({id: last, request});
      });
    },
    close() {
      void worker.terminate();
    },
  };
}
