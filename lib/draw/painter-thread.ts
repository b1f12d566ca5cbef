import {parentPort} from "node:worker_threads";
import {openPainter, type PictureRequest} from "./picture.ts";

/** The thread's side of `startPainter`: draws one picture per message; a request of null warms it up. */
const port = parentPort!;
const painter = openPainter();

port.on("message", ({id, request}: {id: number; request: PictureRequest | null}) => {
  if (request === null) return painter.warm();
  painter.svg(request).then(
    svg => port.postMessage({id, svg}),
    error => port.postMessage({id, error: error instanceof Error ? error.message : String(error)}),
  );
});
