/** Contradictions about structures, their water and their need. */
import type { StructurePicture, StructureTally } from '../../config/wire/wire.ts';
import { spreads } from '../../gateway/core/hydraulics/limits.ts';
import { alarmed, bearsOut, firstHead, headsOf, standing, withPicture, type Rule } from './line-rules.ts';
import type { Said } from './said.ts';

const firstStructure = (said: Said, changes: Partial<StructurePicture>): Said =>
  withPicture(said, {
    structures: said.picture.structures.map((one, index) => (index === 0 ? { ...one, ...changes } : one)),
  });
const firstTally = (said: Said, changes: Partial<StructureTally>): Said =>
  firstStructure(said, { tally: { ...said.picture.structures[0]!.tally!, ...changes } });
const ownHeads = (said: Said, structure: string) => headsOf(said, (head) => head.structure === structure);
const first = (said: Said): string => said.picture.structures[0]!.structure;
const withSentence = (said: Said, words: string): Said => ({
  ...said,
  sentences: new Map([...said.sentences].map(([id, before]) => [id, id === first(said) ? words : before])),
});
const structures = ({ picture }: Said, ...states: StructurePicture['state'][]): readonly StructurePicture[] =>
  picture.structures.filter(({ state }) => states.includes(state));
const ids = (some: readonly StructurePicture[]): string[] => some.map(({ structure }) => structure);
const NEAR_M3S = 1e-9;

export const STRUCTURE_RULES: readonly Rule[] = [
  {
    never: "a count of a structure's heads that its own heads do not bear out",
    broken: (said) =>
      ids(
        said.picture.structures.filter(
          ({ structure, heads }) =>
            !bearsOut(
              heads!,
              ownHeads(said, structure).map(({ now }) => now),
            ),
        ),
      ),
    breaks: (said) => firstStructure(said, { heads: { ...said.picture.structures[0]!.heads!, low: 3 } }),
  },
  {
    never: "'N of its M heads' or 'all M heads' where the structure has not M",
    broken: (said) =>
      [...said.sentences].flatMap(([id, words]) => {
        const own = ownHeads(said, id).length;
        // What it says of the turning of its heads has another number in front, and 'it' is the same place.
        const told = [...words.matchAll(/(?:of its|all) (\d+) heads/g)].map(([, many]) => Number(many));
        return told.some((many) => many !== own) ? [`${id}: ${words}`] : [];
      }),
    breaks: (said) => withSentence(said, 'low pressure, 3 of its 17 heads under turning pressure.'),
  },
  {
    never: 'a structure that has failed while a head of it flows',
    broken: (said) =>
      ids(
        structures(said, 'down').filter(({ structure }) =>
          ownHeads(said, structure).some(({ now }) => now.state === 'flowing' || now.state === 'above-range'),
        ),
      ),
    breaks: (said) => firstStructure(said, { state: 'down' }),
  },
  {
    never: 'a structure that has not failed, of which every head that should run is low or dry',
    broken: (said) =>
      ids(
        said.picture.structures.filter(({ state, heads }) => {
          const active = heads!.total - heads!.idle;
          return active > 0 && heads!.low + heads!.dry === active && state !== 'down';
        }),
      ),
    breaks: (said) =>
      firstStructure(said, {
        heads: { ...said.picture.structures[0]!.heads!, low: said.picture.structures[0]!.heads!.total },
      }),
  },
  {
    never: "a structure of 'low pressure' with no head low or dry",
    broken: (said) => ids(structures(said, 'running-short').filter(({ heads }) => heads!.low + heads!.dry === 0)),
    breaks: (said) => firstStructure(said, { state: 'running-short' }),
  },
  {
    never: "a structure 'as modelled' on a line that is not",
    broken: (said) =>
      ids(
        structures(said, 'as-modelled').filter(({ structure }) =>
          ownHeads(said, structure).some(({ head }) => {
            const { state } = said.picture.lines.find(({ line }) => line === head.line)!;
            return state !== 'as-modelled' && state !== 'shut-by-order';
          }),
        ),
      ),
    breaks: (said) =>
      withPicture(said, { lines: said.picture.lines.map((line) => ({ ...line, state: 'changed' as const })) }),
  },
  {
    never: 'a flow of a structure that is not that of its heads',
    broken: (said) =>
      ids(
        said.picture.structures.filter(({ structure, flowM3s, spreadM3s }) => {
          const own = ownHeads(said, structure).map(({ now }) => now);
          if (own.length === 0) return false;
          if (own.some((now) => now.flowM3s === null)) return flowM3s !== null || spreadM3s !== null;
          const sum = (some: typeof own): number => some.reduce((all, now) => all + now.flowM3s!, 0);
          return (
            Math.abs(flowM3s! - sum(own)) > NEAR_M3S ||
            Math.abs(spreadM3s! - sum(own.filter(({ state }) => spreads(state)))) > NEAR_M3S
          );
        }),
      ),
    breaks: (said) => firstStructure(said, { flowM3s: 1 }),
  },
  {
    never: 'water that counts as wetting at a structure that has failed',
    broken: (said) =>
      ids(
        structures(said, 'down').filter(
          ({ structure, spreadM3s }) => spreadM3s !== 0 || said.wetting.get(structure) !== 0,
        ),
      ),
    breaks: (said) => firstStructure(said, { state: 'down' }),
  },
  {
    never: 'depth that grows while a structure has failed or is unknown',
    broken: (said) =>
      said.picture.structures
        .filter(({ state, structure, tally }) => {
          const was = said.before?.structures.find((one) => one.structure === structure)?.tally;
          return (state === 'down' || state === 'unknown') && was && tally && tally.receivedM3 > was.receivedM3;
        })
        .map(({ structure }) => structure),
    breaks: (said) =>
      firstTally(firstStructure({ ...said, before: said.picture }, { state: 'down' }), {
        receivedM3: said.picture.structures[0]!.tally!.receivedM3 + 1,
      }),
  },
  {
    never: 'spells dry, low, short and unknown that are longer together than since first water',
    broken: ({ picture }) =>
      ids(
        picture.structures.filter(({ tally }) => {
          if (!tally) return false;
          const spells = tally.dryS + tally.lowS! + tally.shortS + tally.unknownS;
          return tally.sinceMs === null ? spells > 0 : spells > (picture.atMs - tally.sinceMs) / 1_000 + 1;
        }),
      ),
    breaks: (said) => firstTally(said, { dryS: 1e9 }),
  },
  {
    never: 'a deadline for what has failed, is shut or unknown',
    broken: (said) =>
      said.needs.flatMap(({ structure, now, left }) => {
        const works = now && !['down', 'unknown', 'shut-by-order', 'rigged-dry'].includes(now.state);
        const words = said.sentences.get(structure.id)!;
        const told = /(empty|out of fuel|under turning pressure) in |how long it lasts/.test(words);
        return !works && (left || told) ? [`${structure.id}: ${words}`] : [];
      }),
    breaks: (said) => ({
      ...said,
      needs: said.needs.map((need) => ({ ...need, now: need.now && { ...need.now, state: 'down' as const } })),
    }),
  },
  {
    never: "what has failed, filed anywhere but under 'Failed' (or hazard)",
    broken: ({ needs }) =>
      needs.flatMap(({ structure, now, group }) => {
        const failed = now?.state === 'down' || (now?.state === 'unknown' && now.last === 'down');
        return group !== 'hazard' && failed !== (group === 'failed') ? [structure.id] : [];
      }),
    breaks: (said) => ({ ...said, needs: said.needs.map((need) => ({ ...need, group: 'failed' as const })) }),
  },
  {
    never: 'a head said to fall under turning pressure that is under it already, or dry',
    broken: (said) =>
      [
        ...said.picture.supplies.flatMap(({ firstShort }) => firstShort?.head ?? []),
        ...said.needs.flatMap(({ left }) => (left?.what === 'pressure' ? [left.of] : [])),
      ].filter((id) => !spreads(said.picture.heads.find(({ head }) => head === id)!.state)),
    breaks: (said) =>
      withPicture(firstHead(said, { state: 'short' }), {
        supplies: said.picture.supplies.map((supply) => ({
          ...supply,
          firstShort: { head: said.picture.heads[0]!.head, inS: { best: 1, low: 1, high: 1 } },
        })),
      }),
  },
  {
    never: 'a place under hazard to people without an alarm that says so, or such an alarm and no place under it',
    broken: (said) => {
      const hazard = said.picture.alarms.some(({ priority, clearedMs }) => priority === 'people' && clearedMs === null);
      return hazard === said.needs.some(({ group }) => group === 'hazard') ? [] : [`alarm: ${hazard}`];
    },
    breaks: (said) => alarmed(said, { cause: 'dead-head', subject: 'pump', subjectKind: 'pump' }, 'people'),
  },
  {
    never: 'a sentence of need that does not begin with the word that the lists and the plan have for the structure',
    broken: (said) =>
      said.needs
        .filter(({ structure, hazard }) => {
          const words = said.sentences.get(structure.id)!;
          return !hazard && !words.startsWith(said.things.get(structure.id)!);
        })
        .map(({ structure }) => structure.id),
    breaks: (said) => withSentence(said, 'all is well.'),
  },
  {
    never: "'before this trouble' where no trouble stands",
    broken: (said) =>
      standing(said).length > 0
        ? []
        : [...said.sentences].filter(([, words]) => words.includes('before this trouble')).map(([id]) => id),
    breaks: (said) =>
      withSentence(said, 'running as modelled; all heads last confirmed turning 3 min ago, before this trouble.'),
  },
];
