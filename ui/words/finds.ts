/** What a crew can have found, as it says so; the middle group is what pressure and flow cannot show. */
import { FINDS, FINDS_BY_EYES, FINDS_BY_GAUGES, findWords } from '../../config/causes/causes.ts';
import type { TruthKind } from '../../config/wire/truth.ts';

const BESIDES = {
  'nothing-wrong': 'Nothing wrong there',
  'walked-all': 'All was walked: what is not listed was not there',
  front: "The fire's front arrived",
  note: 'Note',
} as const;

export const FIND_WORDS = {
  ...Object.fromEntries(FINDS.map((find) => [find, findWords(find)])),
  ...BESIDES,
} as Readonly<Record<TruthKind, string>>;

export const FIND_GROUPS: readonly (readonly [string, readonly TruthKind[]])[] = [
  ['What gauges can show', FINDS_BY_GAUGES],
  ['What no gauge here can show', FINDS_BY_EYES],
  ['And besides', Object.keys(BESIDES) as (keyof typeof BESIDES)[]],
];
