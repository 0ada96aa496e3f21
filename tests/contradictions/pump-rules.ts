/** Contradictions about pump, suction, tank, hose lay as a whole, and sentences for the radio. */
import type { Quantity } from '../../config/layout/layout.ts';
import type { Picture, PumpPicture } from '../../config/wire/wire.ts';
import { NO_FLOW_SHARE } from '../../gateway/core/hydraulics/limits.ts';
import type { Judged, Part } from '../../ui/words/pump-question.ts';
import { alarmed, RUNS, standing, withPicture, type Rule } from './line-rules.ts';
import type { Said, SaidOfPump } from './said.ts';

const firstPump = (said: Said, changes: Partial<PumpPicture>): Said =>
  withPicture(said, {
    pumps: said.picture.pumps.map((pump, index) => (index === 0 ? { ...pump, ...changes } : pump)),
  });
const pumpSays = (said: Said, changes: Partial<SaidOfPump>): Said => ({
  ...said,
  pumps: new Map([...said.pumps].map(([id, words]) => [id, { ...words, ...changes }])),
});
const judged = ({ clauses }: SaidOfPump, part: Part): Judged => clauses.find((clause) => clause.part === part)!.judged;
const judgedAs = (said: Said, part: Part, as: Judged): Said =>
  pumpSays(said, {
    clauses: [...said.pumps.values()][0]!.clauses.map((clause) =>
      clause.part === part ? { ...clause, judged: as } : clause,
    ),
  });
const each = (said: Said, broken: (id: string, words: SaidOfPump, now: PumpPicture) => boolean): string[] =>
  [...said.pumps]
    .filter(([id, words]) =>
      broken(
        id,
        words,
        said.picture.pumps.find(({ pump }) => pump === id)!,
      ),
    )
    .map(([id, words]) => `${id}: ${words.answer} ${words.does}`);
const gauge = ({ layout, picture }: Said, pump: string, quantity: Quantity, kind: string) => {
  const sensor = layout.sensors.find(
    ({ quantity: what, mounting }) =>
      what === quantity && mounting.kind === kind && 'pump' in mounting && mounting.pump === pump,
  );
  return picture.channels.find(({ channel }) => channel === sensor?.id);
};
const isOutside = ({ picture }: Said, channel: string | undefined): boolean =>
  picture.outside?.some((one) => one.channel === channel) ?? false;
const outside = (said: Said, channel: string): Said =>
  withPicture(said, { outside: [{ channel, side: 'below' as const }] });
const about = (said: Said, subject: string, ...causes: string[]): boolean =>
  standing(said).some(({ verdict }) => verdict.subject === subject && causes.includes(verdict.cause));
const changedChannel = (said: Said, channel: string, changes: Partial<Picture['channels'][number]>): Said =>
  withPicture(said, {
    channels: said.picture.channels.map((one) => (one.channel === channel ? { ...one, ...changes } : one)),
  });

export const PUMP_RULES: readonly Rule[] = [
  {
    never: "a pump that is 'running' at next to no flow",
    broken: (said) =>
      each(said, (id, { does }, { flowM3s }) => {
        const most = said.layout.pumps.find((pump) => pump.id === id)!.kit.curveFlowM3s.at(-1)!;
        return does === 'running' && flowM3s !== null && flowM3s < NO_FLOW_SHARE * most;
      }),
    breaks: (said) => firstPump(said, { flowM3s: 0 }),
  },
  {
    never: "'suction ample' during suction trouble",
    broken: (said) =>
      each(said, (id, { suction }) => suction === 'suction ample' && about(said, id, 'suction-trouble')),
    breaks: (said) => alarmed(said, { cause: 'suction-trouble', subject: 'pump', subjectKind: 'pump' }),
  },
  {
    never: "'suction ample' while the suction gauge is outside its band",
    broken: (said) =>
      each(
        said,
        (id, { suction }) =>
          suction === 'suction ample' && isOutside(said, gauge(said, id, 'pressure', 'suction')?.channel),
      ),
    breaks: (said) => outside(said, 'suction'),
  },
  {
    never: "'as expected' of a part whose gauge is outside its band, not heard or not trusted",
    broken: (said) =>
      each(said, (id, words) =>
        (
          [
            ['pump', 'pressure', 'discharge'],
            ['water', 'pressure', 'suction'],
            ['network', 'flow', 'pump'],
          ] as const
        ).some(([part, quantity, kind]) => {
          const channel = gauge(said, id, quantity, kind);
          const sound =
            channel &&
            ['fresh', 'late'].includes(channel.freshness) &&
            channel.doubt === null &&
            !isOutside(said, channel.channel);
          return judged(words, part) === 'fine' && !sound;
        }),
      ),
    breaks: (said) => changedChannel(said, 'suction', { freshness: 'stale' }),
  },
  {
    never: "a hose lay 'as expected' with a line end outside its band",
    broken: (said) =>
      said.layout.sensors.some(
        ({ id, line, quantity }) =>
          line !== null &&
          quantity === 'pressure' &&
          isOutside(said, id) &&
          said.picture.channels.find(({ channel }) => channel === id)!.doubt === null,
      )
        ? each(said, (_, words) => judged(words, 'network') === 'fine')
        : [],
    breaks: (said) =>
      outside(said, said.layout.sensors.find(({ line, quantity }) => line && quantity === 'pressure')!.id),
  },
  {
    never: "a hose lay 'as expected' while a trouble of it stands",
    broken: (said) =>
      standing(said).some(({ verdict }) => ['line', 'trunk'].includes(verdict.subjectKind))
        ? each(said, (_, words) => judged(words, 'network') !== 'wrong')
        : [],
    breaks: (said) => alarmed(said, { subjectKind: 'line', subject: said.picture.lines[0]!.line }),
  },
  {
    never: "'it looks like the water' for a tank that only runs low, leaks or is full",
    broken: (said) =>
      each(said, (id, words) => {
        const outsideNow = isOutside(said, gauge(said, id, 'pressure', 'suction')?.channel);
        return (
          words.answer.includes('the water') &&
          words.answer.startsWith('It looks like') &&
          judged(words, 'water') === 'wrong' &&
          !outsideNow &&
          !about(said, id, 'suction-trouble')
        );
      }),
    breaks: (said) =>
      pumpSays(judgedAs(said, 'water', 'wrong'), {
        answer: 'It looks like the water.',
        clauses: [...judgedAs(said, 'water', 'wrong').pumps.values()][0]!.clauses,
      }),
  },
  {
    never: "a low tank, standing as an alarm, that the pump's card does not tell",
    broken: (said) =>
      each(said, (id, { clauses }) => {
        const { source } = said.layout.pumps.find((pump) => pump.id === id)!;
        const told = clauses.map(({ words }) => words).join(' ');
        return standing(said).some(
          ({ verdict }) =>
            verdict.cause === 'tank-low' && verdict.subject === source && !told.includes(verdict.headline),
        );
      }),
    breaks: (said) =>
      alarmed(said, { cause: 'tank-low', subject: said.layout.pumps[0]!.source, subjectKind: 'source' }),
  },
  {
    never: "'nothing stands out' beside a part that looks wrong, or 'it looks like' beside none",
    broken: (said) =>
      each(said, (_, { answer, clauses }) => {
        const wrong = clauses.some((clause) => clause.judged === 'wrong');
        return wrong !== answer.startsWith('It looks like');
      }),
    breaks: (said) => pumpSays(said, { answer: 'It looks like the pump.' }),
  },
  {
    never: 'a part judged of a pump that is stopped and was asked to, or that nobody hears',
    broken: (said) =>
      each(
        said,
        (_, { clauses }, { state }) =>
          (state === 'stopped' || state === 'unknown') && clauses.some((clause) => clause.judged === 'fine'),
      ),
    breaks: (said) => firstPump(said, { state: 'stopped' }),
  },
  {
    never: 'a line that runs, beside a deadheaded pump',
    broken: ({ picture }) =>
      picture.pumps.some(({ state }) => state === 'dead-head')
        ? picture.lines.filter(({ state }) => RUNS.includes(state)).map(({ line }) => line)
        : [],
    breaks: (said) => firstPump(said, { state: 'dead-head' }),
  },
  {
    never: 'a trunk that carries water while no pump gives any',
    broken: (said) =>
      [...said.pumps.values()].some(({ does }) => does === 'running')
        ? []
        : said.layout.hoses
            .filter(({ id, line }) => line === null && said.things.get(id) === 'carrying water')
            .map(({ id }) => id),
    breaks: (said) => pumpSays(said, { does: 'stopped' }),
  },
  {
    never: "a gauge 'inside its band' that the states hold to be outside, or the other way round",
    broken: (said) =>
      said.picture.channels
        .filter(({ channel }) => {
          const word = said.things.get(channel)!;
          return isOutside(said, channel) ? word.startsWith('inside') : /^(below|above) its band/.test(word);
        })
        .map(({ channel }) => channel),
    breaks: (said) => outside(said, 'discharge'),
  },
  {
    never: 'one word for the pump on its card and another on the plan',
    broken: (said) => each(said, (id, { does }) => said.things.get(id) !== does),
    breaks: (said) => pumpSays(said, { does: 'stopped' }),
  },
  {
    never: 'a time until the tank is empty while it is being filled',
    broken: ({ picture, pumps }) =>
      picture.supplies
        .filter(
          ({ filling, emptyInS }) =>
            filling && (emptyInS !== null || [...pumps.values()].some(({ water }) => / min/.test(water))),
        )
        .map(({ source }) => source),
    breaks: (said) =>
      withPicture(said, {
        supplies: said.picture.supplies.map((supply) => ({
          ...supply,
          filling: true,
          emptyInS: { best: 60, low: 60, high: 60 },
        })),
      }),
  },
  {
    never: 'a radio sentence about one line that quotes the end of another',
    broken: ({ layout, picture }) =>
      picture.alarms
        .filter(({ verdict }) => verdict.subjectKind === 'line')
        .filter(({ verdict }) =>
          layout.sensors.some(
            ({ line, quantity, label }) =>
              line !== null &&
              line !== verdict.subject &&
              quantity === 'pressure' &&
              verdict.radio.toLowerCase().includes(label.toLowerCase()),
          ),
        )
        .map(({ verdict }) => verdict.radio),
    breaks: (said) => {
      const other = said.layout.sensors.find(
        ({ line, quantity }) => line === said.layout.lines[1]!.id && quantity === 'pressure',
      )!;
      return alarmed(said, { subject: said.layout.lines[0]!.id, radio: `Leak. ${other.label} 40 psi, expected 54.` });
    },
  },
  {
    never: 'a gauge that is stale and not among what cannot be seen',
    broken: ({ layout, picture }) =>
      layout.sensors
        .filter(({ id, label }) => {
          const stale = picture.channels.find(({ channel }) => channel === id)!.freshness === 'stale';
          return stale && !picture.blind.some((sentence) => sentence.startsWith(label));
        })
        .map(({ id }) => id),
    breaks: (said) => changedChannel(said, 'suction', { freshness: 'stale' }),
  },
];
