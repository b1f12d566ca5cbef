/** As many answers are kept: far more than one kind of log has columns. */
const MOST = 4096;

/** A function of a text that keeps its answers: the logs of one logger all have the same headers. */
export function remembered<Answer>(answer: (text: string) => Answer): (text: string) => Answer {
  const known = new Map<string, {answer: Answer}>();
  return text => {
    let kept = known.get(text);
    if (kept === undefined) {
      if (known.size >= MOST) known.clear();
      kept = {answer: answer(text)};
      known.set(text, kept);
    }
    return kept.answer;
  };
}
