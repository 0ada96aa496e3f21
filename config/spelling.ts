/**
 * The known word that a mistyped one was probably meant to be, for sentences like 'did you mean kPa?'.
 *
 * In: a word and the words that would have been right. Out: the nearest by edit distance, or null when none is near.
 * Limit: nearness of letters only; it knows nothing of meaning.
 */
export function nearestWord(word: string, known: readonly string[]): string | null {
  let best: string | null = null;
  // Judgement: a third of the letters may be wrong before a guess misleads more than it helps.
  let bestDistance = Math.max(1, Math.floor(word.length / 3)) + 0.5;
  for (const candidate of known) {
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

function editDistance(a: string, b: string): number {
  let previous = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = (previous[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      row.push(Math.min(change, (previous[j] ?? 0) + 1, (row[j - 1] ?? 0) + 1));
    }
    previous = row;
  }
  return previous[b.length] ?? 0;
}
