import {type Further, furtherRuns, MOST_RUNS, type Open, type Today} from "./further-runs.ts";

/**
 * What would settle an open question, in words, from `furtherRuns`: the next look where the plan has one left, else a new planned
 * test. A planning figure, not a promise.
 */
export function settleWords(
  open: Open,
  today: Today,
  print: (value: number) => string,
): {words: string; further: Further | null} {
  const further = furtherRuns(open, today);
  const {fit, look, model} = today.effect;
  if (!further || !fit?.residualSd) {
    return {words: "Measure how much identical runs differ before planning the next day.", further};
  }
  const {unit} = model;
  const spread = `${unit}s of one arm differ by ${print(fit.residualSd)} (standard deviation, the plan's terms taken out)`;
  if (further.kind === "next-look") {
    return {
      further,
      words: `Drive ${further.runs} more runs to the next planned look, after ${look.runs + further.runs!}: by simulation from today's spread it settles this with a chance of about ${percent(further.chance!)}; ${spread}.`,
    };
  }
  if (further.runs === null) {
    return {
      further,
      words: `With today's spread, ${spread}, not even ${MOST_RUNS} ${unit}s would do: make the runs more alike, or leave it open.`,
    };
  }
  const sure = further.likelyRuns === null ? "" : `, and ${further.likelyRuns} on four of five`;
  return {
    further,
    words: `By simulation from today's spread, a new planned test of about ${further.runs} ${unit}s would settle it on half of such days${sure}: ${spread}. Adding runs to this day and judging again would be a look that was not planned, which raises false alarms.`,
  };
}

function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}
