/**
 * Everything that the screens say of one picture, made by the functions that the screens make it with.
 *
 * In: layout, picture, the one a second before, gates as they were at the baseline. Out: the words, by what they are
 * about. Amounts are in SI: a rule is about words, not about units.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { conditionOf } from '../../ui/state/conditions.ts';
import { orderOfNeed, wettingM3s, type Need } from '../../ui/state/need.ts';
import { thing } from '../../ui/state/things.ts';
import { lineWhy } from '../../ui/words/lines.ts';
import { needSentence } from '../../ui/words/need.ts';
import { pumpAnswer, pumpClauses, pumpNow, suctionNow, type Clause } from '../../ui/words/pump-question.ts';
import { LINE_STATES } from '../../ui/words/states.ts';
import { waterLeftWords } from '../../ui/words/supply.ts';
import { placeName } from '../../gateway/core/alarms/wording.ts';

export interface SaidOfPump {
  readonly clauses: readonly Clause[];
  readonly answer: string;
  readonly does: string;
  /** Null: not known. */
  readonly suction: string | null;
  readonly water: string;
}

export interface Said {
  readonly layout: Layout;
  readonly picture: Picture;
  readonly before: Picture | null;
  readonly gatesWalked: readonly number[] | null;
  /** 'low pressure: 2 of its 5 heads ...' of each line, as the lists say it. */
  readonly lines: ReadonlyMap<string, string>;
  readonly needs: readonly Need[];
  readonly sentences: ReadonlyMap<string, string>;
  /** What each structure's heads put down as wetting now, as its card says it. */
  readonly wetting: ReadonlyMap<string, number | null>;
  readonly pumps: ReadonlyMap<string, SaidOfPump>;
  /** The word beside each thing of the layout. */
  readonly things: ReadonlyMap<string, string>;
}

export function saidOf(
  layout: Layout,
  picture: Picture,
  before: Picture | null,
  gatesWalked: readonly number[] | null,
): Said {
  const needs = orderOfNeed(layout, picture);
  const label = (id: string): string => placeName(id, layout);
  const items = [
    ...layout.lines,
    ...layout.heads,
    ...layout.hoses,
    ...layout.gates,
    ...layout.pumps,
    ...layout.sources,
    ...layout.sensors,
    ...layout.structures,
  ];
  return {
    layout,
    picture,
    before,
    gatesWalked,
    lines: new Map(
      picture.lines.map((line) => [line.line, `${LINE_STATES[line.state].word}: ${lineWhy(line, layout, picture)}`]),
    ),
    needs,
    sentences: new Map(
      needs.map((need) => [
        need.structure.id,
        needSentence(need, label, (atMs) => (picture.atMs - atMs) / 1_000, picture.advice.working),
      ]),
    ),
    wetting: new Map(needs.map(({ structure, heads }) => [structure.id, wettingM3s(heads.map(({ now }) => now))])),
    pumps: new Map(
      layout.pumps.map((pump) => {
        const clauses = pumpClauses(layout, pump, picture, (value) => String(value));
        const source = layout.sources.find(({ id }) => id === pump.source);
        return [
          pump.id,
          {
            clauses,
            answer: pumpAnswer(clauses),
            does: pumpNow(pump, picture).word,
            suction: suctionNow(layout, pump, picture)?.state.word ?? null,
            water: waterLeftWords(
              source,
              picture.supplies.find((one) => one.source === pump.source),
            ),
          },
        ];
      }),
    ),
    things: new Map(items.map(({ id }) => [id, conditionOf(thing(layout, id)!, picture, layout).word])),
  };
}
