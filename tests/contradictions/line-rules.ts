/** Contradictions about lines and heads: each rule in words, how it is broken, and a picture that breaks it. */
import type { Alarm, HeadPicture, LinePicture, Picture } from '../../config/wire/wire.ts';
import { standingOf } from '../../gateway/core/hydraulics/limits.ts';
import { blankAlarm } from '../support/blank-picture.ts';
import type { Said } from './said.ts';

export interface Rule {
  /** What must not be said together. */
  readonly never: string;
  /** Each place where it is said; none: the rule holds. */
  readonly broken: (said: Said) => readonly string[];
  /** What a healthy, running site with a baseline says, changed so that the rule is broken. */
  readonly breaks: (said: Said) => Said;
}

export const RUNS = ['as-modelled', 'changed', 'running-short', 'running-over'];

export const standing = ({ picture }: Said): Alarm[] =>
  [...picture.alarms, ...picture.setAside].filter(({ clearedMs }) => clearedMs === null);

export const withPicture = (said: Said, changes: Partial<Picture>): Said => ({
  ...said,
  picture: { ...said.picture, ...changes },
});

const firstLine = (said: Said, changes: Partial<LinePicture>): Said =>
  withPicture(said, {
    lines: said.picture.lines.map((line, index) => (index === 0 ? { ...line, ...changes } : line)),
  });

export const firstHead = (said: Said, changes: Partial<HeadPicture>): Said =>
  withPicture(said, {
    heads: said.picture.heads.map((head, index) => (index === 0 ? { ...head, ...changes } : head)),
  });

/** An alarm about this, of this cause. */
export const alarmed = (said: Said, changes: Partial<Alarm['verdict']>, priority: Alarm['priority'] = 'high'): Said => {
  const alarm = blankAlarm('rule');
  return withPicture(said, {
    alarms: [{ ...alarm, priority, verdict: { ...alarm.verdict, ...changes } }],
  });
};

const endsOf = ({ layout, picture }: Said, line: string): Picture['channels'] =>
  layout.sensors
    .filter((sensor) => sensor.line === line && sensor.quantity === 'pressure')
    .flatMap(({ id }) => picture.channels.filter(({ channel }) => channel === id));

export const headsOf = ({ layout, picture }: Said, fits: (head: Said['layout']['heads'][number]) => boolean) =>
  layout.heads.filter(fits).map((head) => ({ head, now: picture.heads.find((one) => one.head === head.id)! }));

const asModelled = ({ picture }: Said): readonly LinePicture[] =>
  picture.lines.filter(({ state }) => state === 'as-modelled');
const claimsFlow = ({ picture }: Said): readonly LinePicture[] =>
  picture.lines.filter(({ why }) => why.includes('flow match'));
const WRONG_HEAD: readonly HeadPicture['state'][] = ['dry', 'short', 'off?', 'plugged?', 'over-pressure', 'unknown'];

export const LINE_RULES: readonly Rule[] = [
  {
    never: "a line 'as modelled' whose end is not heard, not trusted, or outside its band",
    broken: (said) =>
      asModelled(said).flatMap(({ line }) => {
        const heard = endsOf(said, line).find(({ freshness }) => freshness !== 'never');
        const outside = said.picture.outside?.some(({ channel }) => channel === heard?.channel);
        return !heard || heard.freshness === 'stale' || heard.doubt === 'stuck' || outside ? [line] : [];
      }),
    breaks: (said) =>
      withPicture(said, {
        outside: endsOf(said, said.picture.lines[0]!.line).map(({ channel }) => ({ channel, side: 'below' })),
      }),
  },
  {
    never: "a line 'as modelled' on which a trouble stands",
    broken: (said) =>
      asModelled(said).flatMap(({ line }) =>
        standing(said).some(({ verdict }) => verdict.subjectKind === 'line' && verdict.subject === line) ? [line] : [],
      ),
    breaks: (said) => alarmed(said, { subjectKind: 'line', subject: said.picture.lines[0]!.line }),
  },
  {
    never: "a line 'as modelled' with a head that is dry, low, in doubt, unknown or past what it survives",
    broken: (said) =>
      asModelled(said).flatMap(({ line }) =>
        headsOf(said, (head) => head.line === line)
          .filter(({ now }) => WRONG_HEAD.includes(now.state))
          .map(({ head, now }) => `${line}: ${head.id} ${now.state}`),
      ),
    breaks: (said) => firstHead(said, { state: 'short' }),
  },
  {
    never: "'match the baseline' without a baseline",
    broken: ({ picture }) =>
      picture.baseline
        ? []
        : picture.lines.filter(({ why }) => /match(es)? the baseline/.test(why)).map(({ line }) => line),
    breaks: (said) => withPicture(said, { baseline: null }),
  },
  {
    never: "'flow matches' without a flow meter that is heard, trusted and inside its band",
    broken: (said) => {
      const meters = said.layout.sensors
        .filter(({ quantity }) => quantity === 'flow')
        .map(({ id }) => said.picture.channels.find(({ channel }) => channel === id)!);
      const sound = meters.every(
        ({ channel, freshness, doubt }) =>
          (freshness === 'fresh' || freshness === 'late') &&
          doubt === null &&
          !said.picture.outside?.some((one) => one.channel === channel),
      );
      return sound && meters.length > 0 ? [] : claimsFlow(said).map(({ line }) => line);
    },
    breaks: (said) =>
      withPicture(said, {
        channels: said.picture.channels.map((one) => (one.quantity === 'flow' ? { ...one, freshness: 'stale' } : one)),
      }),
  },
  {
    never: "'pressure and flow match the baseline' with gates other than at the baseline",
    broken: (said) =>
      said.gatesWalked?.every((opening, gate) => opening === said.picture.gates[gate]!.opening) ||
      (said.layout.gates.length === 0 && said.gatesWalked)
        ? []
        : claimsFlow(said).map(({ line }) => line),
    breaks: (said) => ({ ...said, gatesWalked: said.picture.gates.map(() => 0.5) }),
  },
  {
    never: "'pressure and flow match the baseline' while a trouble of the lay or of the pump stands",
    broken: (said) =>
      standing(said).some(
        ({ verdict: { subjectKind, cause } }) =>
          (['line', 'trunk', 'pump'].includes(subjectKind) && cause !== 'fuel-low') ||
          (subjectKind === 'site' && cause === 'unexplained'),
      )
        ? claimsFlow(said).map(({ line }) => line)
        : [],
    breaks: (said) => alarmed(said, { subjectKind: 'trunk', subject: 'trunk' }),
  },
  {
    never: 'a line that runs on pumps of which none does',
    broken: ({ picture }) =>
      picture.pumps.some(({ state }) => state === 'running')
        ? []
        : picture.lines.filter(({ state }) => RUNS.includes(state)).map(({ line }) => line),
    breaks: (said) => withPicture(said, { pumps: said.picture.pumps.map((pump) => ({ ...pump, state: 'stopped' })) }),
  },
  {
    never: 'a line that fills while no pump starts',
    broken: ({ picture }) =>
      picture.pumps.some(({ state }) => state === 'starting')
        ? []
        : picture.lines.filter(({ state }) => state === 'filling').map(({ line }) => line),
    breaks: (said) => firstLine(said, { state: 'filling' }),
  },
  {
    never: 'a line that has failed, with a head on it that flows',
    broken: (said) =>
      said.picture.lines
        .filter(({ state }) => state === 'down')
        .flatMap(({ line }) => headsOf(said, (head) => head.line === line))
        .filter(({ now }) => now.state === 'flowing' || now.state === 'above-range')
        .map(({ head }) => head.id),
    breaks: (said) => firstLine(said, { state: 'down' }),
  },
  {
    never: "a line of 'low pressure' with no head low, or with all of them",
    broken: (said) =>
      said.picture.lines
        .filter(({ state, heads }) => {
          const lacking = heads!.low + heads!.dry;
          return state === 'running-short' && (lacking === 0 || lacking === heads!.total);
        })
        .map(({ line }) => line),
    breaks: (said) => firstLine(said, { state: 'running-short' }),
  },
  {
    never: "a count of a line's heads that its heads do not bear out",
    broken: (said) =>
      said.picture.lines
        .filter(
          ({ line, heads }) =>
            !bearsOut(
              heads!,
              headsOf(said, (head) => head.line === line).map(({ now }) => now),
            ),
        )
        .map(({ line }) => line),
    breaks: (said) => firstLine(said, { heads: { ...said.picture.lines[0]!.heads!, low: 1 } }),
  },
  {
    never: "a line 'shut by order' with a gate that is told open",
    broken: ({ layout, picture }) =>
      picture.lines
        .filter(({ line, state }) => {
          const gates = layout.gates.map((gate, index) => ({ gate, opening: picture.gates[index]!.opening }));
          return state === 'shut-by-order' && gates.some(({ gate, opening }) => gate.line === line && opening > 0);
        })
        .map(({ line }) => line),
    breaks: (said) => firstLine(said, { state: 'shut-by-order' }),
  },
  {
    never: 'a line lowered by a trouble of another line that is as modelled',
    broken: ({ layout, picture }) =>
      picture.lines
        .map(({ line, why }) => ({ line, now: why.split('; last known')[0]! }))
        .filter(({ now }) =>
          layout.lines.some(
            ({ id, label }) =>
              now.includes(`because of`) &&
              now.includes(` on ${label}`) &&
              picture.lines.find(({ line }) => line === id)!.state === 'as-modelled',
          ),
        )
        .map(({ line }) => line),
    breaks: (said) => firstLine(said, { why: `lower because of the leak on ${said.layout.lines[1]!.label}` }),
  },
  {
    never: 'a head whose state and modelled pressure disagree by the limits that What if and Pre-flight use',
    broken: (said) =>
      headsOf(said, () => true)
        .filter(({ head, now }) => {
          if (now.pressurePa === null) return ['flowing', 'short', 'above-range', 'over-pressure'].includes(now.state);
          const at = standingOf(head, now.pressurePa);
          const near = (wider: number): boolean => standingOf(head, now.pressurePa! * wider) !== at;
          const same =
            { short: 'too-weak', flowing: 'turns', 'above-range': 'too-strong', 'over-pressure': 'breaks' }[
              now.state as 'short'
            ] ?? at;
          // A dead band of three per cent is part of the limits.
          return same !== at && !near(1 / 1.031) && !near(1.031);
        })
        .map(({ head, now }) => `${head.id} ${now.state} at ${now.pressurePa}`),
    breaks: (said) => firstHead(said, { pressurePa: 1_000 }),
  },
  {
    never: 'a dry head that gives water, or water from a head while every pump stands',
    broken: (said) =>
      headsOf(said, () => true)
        .filter(
          ({ now }) =>
            (now.flowM3s ?? 0) > 0 &&
            (now.state === 'dry' || said.picture.pumps.every(({ state }) => state === 'stopped')),
        )
        .map(({ head }) => head.id),
    breaks: (said) => firstHead(said, { state: 'dry' }),
  },
  {
    never: 'an unknown line that had failed when last known, without saying so',
    broken: ({ picture }) =>
      picture.lines
        .filter(({ state, last, why }) => state === 'unknown' && last === 'down' && !why.includes('last known: failed'))
        .map(({ line }) => line),
    breaks: (said) => firstLine(said, { state: 'unknown', last: 'down', why: 'its line end has gone silent' }),
  },
  {
    never: 'a line under one word in the list and under another on the plan',
    broken: ({ lines, things }) =>
      [...lines].filter(([line, words]) => !words.startsWith(`${things.get(line)}: `)).map(([line]) => line),
    breaks: (said) => ({ ...said, lines: new Map([...said.lines].map(([line]) => [line, 'low pressure: x'])) }),
  },
];

/** Heads in doubt count by a pressure that the picture need not show. */
export function bearsOut(count: NonNullable<LinePicture['heads']>, own: readonly HeadPicture[]): boolean {
  const many = (...states: HeadPicture['state'][]): number => own.filter(({ state }) => states.includes(state)).length;
  const doubted = many('off?', 'plugged?');
  const between = (value: number, least: number): boolean => value >= least && value <= least + doubted;
  return (
    count.total === own.length &&
    between(count.low, many('short')) &&
    between(count.dry + count.idle, many('dry')) &&
    between(count.over, many('above-range', 'over-pressure')) &&
    between(count.unknown, many('unknown'))
  );
}
