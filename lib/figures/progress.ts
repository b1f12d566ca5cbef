import {DISPLAY, escapeHtml, INSPECT, type LiveDisplay, liveDisplay} from "./display.ts";
import {type Progress, progressBar} from "./progress-bar.ts";

/** How far a long computation is. */
export interface ProgressDisplay {
  /** `share` between 0 and 1, and what is being done */
  show(share: number, words?: string): void;
  /** Puts one line in the place of the bar: what was done. */
  end(words: string): void;
}

const PERCENT = 100;

/**
 * Shows how far a long computation is: a bar in a notebook, which ends in one line, so that the stored file keeps that
 * alone; a bar on a terminal, taken away at the end. In a pipe and in the unmodified tslab kernel only the line is printed.
 *
 * Steps below one per cent are not shown: a display for each round of a loop would take longer than the loop.
 */
export function progressDisplay(title: string): ProgressDisplay {
  const place = liveDisplay();
  const bar = place ? null : progressBar(process.stderr);
  let last = -1;
  return {
    show(share, words = "") {
      const percent = Math.floor(PERCENT * Math.min(Math.max(share, 0), 1));
      if (percent === last) return;
      last = percent;
      step({place, bar, percent, text: words === "" ? title : `${title}: ${words}`});
    },
    end(words) {
      bar?.clear();
      if (place) place.show(line(words));
      else console.log(words);
    },
  };
}

function step({
  place,
  bar,
  percent,
  text,
}: {
  place: LiveDisplay | null;
  bar: Progress | null;
  percent: number;
  text: string;
}): void {
  if (bar) bar.show(percent / PERCENT, text);
  const words = `${text} (${percent} %)`;
  const html = `<label>${escapeHtml(text)} <progress max="${PERCENT}" value="${percent}">${percent} %</progress></label>`;
  place?.show({...line(words), [DISPLAY]: () => ({"text/html": html, "text/plain": words})});
}

function line(words: string) {
  return {[DISPLAY]: () => ({"text/plain": words}), [INSPECT]: () => words};
}
