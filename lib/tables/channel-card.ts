import {DISPLAY, type Displayed, escapeHtml, INSPECT} from "../figures/display.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import {RESULT_MIME} from "./verdict-card.ts";

/** A document of channels that shows itself as its answer. */
export interface ChannelCard extends Displayed {
  document: ChannelDocument;
}

/** The answer for a notebook: question, what was shown and what not, runs, seed, versions, checksums. Its bundle carries the whole document. */
export function channelCard(document: ChannelDocument): ChannelCard {
  const lines = cardLines(document);
  const text = lines.map(([label, words]) => `${label}: ${words}`).join("\n");
  const rows = lines.map(
    ([label, words]) =>
      `<tr><th scope="row" style="text-align:left;vertical-align:top">${label}</th><td style="text-align:left">${escapeHtml(words)}</td></tr>`,
  );
  const html = `<table><caption>What the engine log answers</caption><tbody>${rows.join("")}</tbody></table>`;
  return {
    document,
    [DISPLAY]: () => ({[RESULT_MIME]: document, "text/html": html, "text/plain": text}),
    [INSPECT]: () => text,
  };
}

function cardLines({
  question,
  words,
  power,
  arms,
  excluded,
  seed,
  versions,
  inputs,
}: ChannelDocument): [string, string][] {
  const left =
    excluded.length === 0
      ? "none left out"
      : `left out: ${excluded.map(({run, reason}) => `run ${run} (${reason})`).join("; ")}`;
  return [
    ["Question", question],
    ["Shown", words.shown],
    ...(power ? [["Power", power.words] as [string, string]] : []),
    ["Not said", words.silent],
    ["Next", words.next],
    [
      "Runs",
      `${arms.baseline.n} with ${arms.baseline.label}, ${arms.changed.n} with ${arms.changed.label}; ${left}`,
    ],
    ["Seed", String(seed)],
    [
      "Versions",
      Object.entries(versions)
        .map(([name, version]) => `${name} ${version}`)
        .join(", "),
    ],
    ["Data", inputs.map(({file, sha256}) => `${file} ${sha256.slice(0, 12)}`).join(", ")],
  ];
}
