/**
 * What a mistyped word was probably meant to be, and what else would have been right.
 *
 * In: a word and the words that are known. Out: the nearest by edit distance, or null when none is near; or a sentence
 * such as "did you mean 'kPa'? Known: kPa, psi". Limit: nearness of letters only; it knows nothing of meaning.
 */

/** Judgement: more names than this do not help a reader, and comparing with more does not help either. */
const SHOWN = 12;
const COMPARED = 1000;

export function suggestion(word: string, known: readonly string[]): string {
  const nearest = nearestWord(word, known);
  const rest = known.length > SHOWN ? ` and ${known.length - SHOWN} more` : '';
  const list = known.length === 0 ? 'none is known' : `known: ${known.slice(0, SHOWN).join(', ')}${rest}`;
  return nearest === null ? list : `did you mean '${nearest}'? ${list}`;
}

export function nearestWord(word: string, known: readonly string[]): string | null {
  let best: string | null = null;
  // Judgement: a third of the letters may be wrong before a guess misleads more than it helps.
  let bestDistance = Math.max(1, Math.floor(word.length / 3)) + 0.5;
  for (const candidate of known.slice(0, COMPARED)) {
    if (Math.abs(candidate.length - word.length) > bestDistance) continue;
    // A letter in the wrong case is half an error: kpa is nearer to kPa than to psi.
    const distance =
      candidate.toLowerCase() === word.toLowerCase() ? 0.5 : editDistance(word.toLowerCase(), candidate.toLowerCase());
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

/** Letters put in, left out, changed, or two neighbours swapped (optimal string alignment). */
export function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let previous = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = previous[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      const swap = swapped ? before[j - 2]! + 1 : Infinity;
      row.push(Math.min(change, swap, previous[j]! + 1, row[j - 1]! + 1));
    }
    before = previous;
    previous = row;
  }
  return previous[b.length]!;
}
