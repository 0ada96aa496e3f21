/** How a sentence begins: words made for the middle of one, put at its head. */
export function capital(words: string): string {
  return words === '' ? '' : words[0]!.toUpperCase() + words.slice(1);
}
