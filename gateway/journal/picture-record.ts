/**
 * What of a stream of pictures is worth writing down: expectations, alarm transitions, and whole pictures when they
 * matter.
 *
 * In: the pictures as shown, in order. Out: rows. A whole picture is kept when a state, an alarm, a stuck sensor, the
 * baseline or the mode changed, and once a minute besides: everything between follows from the readings and the
 * expectations.
 */
import { DEADHEAD_WARNING, SENDING_LINE } from '../../config/safety.ts';
import type { Alarm, Picture } from '../../config/wire/wire.ts';

/** Judgement: bounds how far a reader must look back for the last whole picture. */
const AT_LEAST_EVERY_MS = 60_000;

export interface AlarmTransition {
  readonly atMs: number;
  readonly alarm: string;
  readonly became: Alarm['state'] | 'gone';
  readonly body: string;
}

export class PictureRecord {
  #alarms = new Map<string, Alarm>();
  #signature = '';
  #keptMs = -Infinity;

  transitions(picture: Picture): AlarmTransition[] {
    const now = new Map(
      [...picture.alarms, ...picture.setAside].map((alarm): [string, Alarm] => [alarm.verdict.id, alarm]),
    );
    const changed = [...now].filter(([id, alarm]) => stateOf(this.#alarms.get(id)) !== stateOf(alarm));
    const gone = [...this.#alarms].filter(([id]) => !now.has(id));
    this.#alarms = now;
    return [
      ...changed.map(([id, alarm]) => ({
        atMs: picture.atMs,
        alarm: id,
        became: alarm.state,
        body: JSON.stringify(alarm),
      })),
      ...gone.map(([id, alarm]) => ({
        atMs: picture.atMs,
        alarm: id,
        became: 'gone' as const,
        body: JSON.stringify(alarm),
      })),
    ];
  }

  worthKeeping(picture: Picture): boolean {
    const signature = JSON.stringify([
      picture.simulated,
      picture.advice.working,
      picture.mode?.name,
      picture.baseline?.atMs,
      picture.pumps.map((pump) => pump.state),
      picture.lines.map(({ state, why }) => [state, why]),
      picture.structures.map(({ state, why }) => [state, why]),
      picture.outside,
      picture.heads.map((head) => head.state),
      picture.alarms.map(stateOf),
      picture.setAside.map(stateOf),
      picture.notes.length,
      picture.channels.map(({ doubt }) => doubt === 'stuck'),
    ]);
    if (signature === this.#signature && picture.atMs - this.#keptMs < AT_LEAST_EVERY_MS) return false;
    this.#signature = signature;
    this.#keptMs = picture.atMs;
    return true;
  }
}

function stateOf(alarm: Alarm | undefined): string {
  return alarm ? `${alarm.verdict.id} ${alarm.state} ${alarm.priority}` : '';
}

type Older<Whole, Missing extends keyof Whole> = Omit<Whole, Missing> & Partial<Pick<Whole, Missing>>;
type OlderAlarm = Older<Omit<Alarm, 'verdict'>, 'reason'> & {
  readonly verdict: Older<Alarm['verdict'], 'warning' | 'caution'>;
};

/** An alarm as it was written, by this version or an older one: what that did not say yet is said on the safe side. */
export function readAlarm<Told extends Alarm>(told: Told): Told {
  const older: OlderAlarm = told;
  const isHazard = told.priority === 'people';
  return {
    ...told,
    reason: older.reason ?? '',
    verdict: {
      ...told.verdict,
      warning: older.verdict.warning ?? (isHazard ? DEADHEAD_WARNING : null),
      caution: older.verdict.caution === undefined ? SENDING_LINE : older.verdict.caution,
    },
  };
}

/** A picture as it was written, by this version or an older one: what that did not know yet is empty. */
export function readPicture(body: string): Picture {
  const picture = JSON.parse(body) as Picture & Partial<Pick<Picture, 'shocks' | 'rhythms' | 'setAside' | 'alarmLoad'>>;
  const structures = picture.structures.map((structure) =>
    structure.tally ? { ...structure, tally: { ...structure.tally, zones: structure.tally.zones ?? [] } } : structure,
  );
  return {
    ...picture,
    structures,
    shocks: picture.shocks ?? [],
    rhythms: picture.rhythms ?? [],
    alarms: picture.alarms.map(readAlarm),
    setAside: (picture.setAside ?? []).map(readAlarm),
    alarmLoad: picture.alarmLoad ?? null,
  };
}
