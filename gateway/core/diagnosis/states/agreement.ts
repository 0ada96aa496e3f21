/**
 * Whether the readings of a line agree with the model, with all that this rests on.
 *
 * In: where each gauge stands against its band, channels, findings and alarms that stand. Out: what is found elsewhere,
 * what is told of the flow, and the clause that a line's state is told with. 'Match the baseline' is said only of
 * readings that are fresh, inside their band and taken with gates and throttle as at the baseline; what a trouble
 * elsewhere explains is put down to it by name.
 */
import { CAUSES } from '../../../../config/causes/causes.ts';
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Alarm, ChannelPicture } from '../../../../config/wire/wire.ts';
import type { Finding } from '../isolation/finding.ts';
import type { Boundary } from '../model/gauge.ts';
import { NO_FIT, type GaugeFit, type Side } from '../residuals/gauge-fit.ts';
import type { MonitoredLay } from './monitored-lay.ts';

export interface AgreementInputs {
  readonly layout: Layout;
  readonly channels: ReadonlyMap<string, ChannelPicture>;
  readonly findings: readonly Finding[];
  /** Alarms that stand, annunciated or set aside. */
  readonly standing: readonly Alarm[];
  readonly lay: MonitoredLay;
  readonly boundary: Boundary;
  /** Gates as people have told, whether seen yet or not. */
  readonly gatesTold: Float64Array;
}

type Trouble = Pick<Finding, 'cause' | 'subject' | 'subjectKind'>;

const OF_LAY: readonly Finding['subjectKind'][] = ['line', 'trunk', 'site'];

/** What is found in the lay now, and alarms of it that are not over yet. */
export function layTroubles({ findings, standing }: Pick<AgreementInputs, 'findings' | 'standing'>): Trouble[] {
  return [...findings, ...standing.map(({ verdict }) => verdict)].filter(
    ({ cause, subjectKind }) => OF_LAY.includes(subjectKind) && cause !== 'sensor-silent',
  );
}

/** 'the hose burst on line B and the leak on the trunk': what is found elsewhere, the largest first; null: nothing. */
export function elsewhere(
  line: string,
  { layout, findings }: Pick<AgreementInputs, 'layout' | 'findings'>,
): string | null {
  const others = findings
    .filter(
      ({ cause, subject, subjectKind }) =>
        OF_LAY.includes(subjectKind) &&
        subject !== line &&
        cause !== 'sensor-silent' &&
        CAUSES[cause].moves !== 'nothing',
    )
    .toSorted((a, b) => Math.abs(b.sizeM3s?.best ?? 0) - Math.abs(a.sizeM3s?.best ?? 0))
    .slice(0, 2)
    .map(({ cause, subject, subjectKind }) => `the ${CAUSES[cause].called} ${placeOf(subject, subjectKind, layout)}`);
  return others.length === 0 ? null : others.join(' and ');
}

function placeOf(subject: string, kind: Finding['subjectKind'], layout: Layout): string {
  if (kind === 'trunk') return 'on the trunk';
  if (kind === 'site') return 'on the whole site';
  return `on ${layout.lines.find(({ id }) => id === subject)?.label ?? subject}`;
}

export function fitOfChannel(channel: string, lay: MonitoredLay): GaugeFit {
  return lay.fits[lay.gauges.findIndex(({ sensor }) => sensor.id === channel)] ?? NO_FIT;
}

/** Where a channel stands by its last seconds, or by its last reading where those are not judged. */
export function sideOf(channel: ChannelPicture, lay: MonitoredLay): 'inside' | Side | null {
  const { value, low, high } = channel;
  const { lately } = fitOfChannel(channel.channel, lay);
  if (lately || value === null || low === null || high === null) return lately;
  return value < low ? 'below' : value > high ? 'above' : 'inside';
}

export function outsideOf(
  channels: ReadonlyMap<string, ChannelPicture>,
  lay: MonitoredLay,
): { readonly channel: string; readonly side: Side }[] {
  return [...channels.values()].flatMap((channel) => {
    const side = channel.freshness === 'stale' ? null : sideOf(channel, lay);
    return side === 'below' || side === 'above' ? [{ channel: channel.channel, side }] : [];
  });
}

type FlowTold =
  /** Every flow meter is fresh, believed and inside its band. */
  | { readonly is: 'inside' }
  /** It says nothing, or is outside for a reason that has a name. */
  | { readonly is: 'silent' | 'explained'; readonly words: string }
  | { readonly is: 'unnamed'; readonly words: string };

export function flowTold(inputs: AgreementInputs): FlowTold {
  const { lay, channels } = inputs;
  const meters = lay.gauges.filter(({ kind }) => kind === 'flow').map(({ sensor }) => channels.get(sensor.id)!);
  if (meters.length === 0) return { is: 'silent', words: 'there is no flow meter' };
  const told = meters.map((meter) => meterTold(meter, inputs));
  return (
    told.find(({ is }) => is === 'unnamed') ??
    told.find(({ is }) => is === 'silent') ??
    told.find(({ is }) => is === 'explained') ?? { is: 'inside' }
  );
}

function meterTold(meter: ChannelPicture, inputs: AgreementInputs): FlowTold {
  if (meter.freshness === 'stale' || meter.freshness === 'never') return { is: 'silent', words: 'flow is not heard' };
  const blamed = inputs.findings.some(
    ({ subjectKind, subject }) => subjectKind === 'channel' && subject === meter.channel,
  );
  if (meter.doubt || blamed) return { is: 'silent', words: 'the flow meter is in doubt' };
  const { unnamed } = fitOfChannel(meter.channel, inputs.lay);
  if (unnamed) return { is: 'unnamed', words: `flow is ${unnamed} its band, no cause named yet` };
  const where = sideOf(meter, inputs.lay);
  if (where === 'inside') return { is: 'inside' };
  if (where === null) return { is: 'silent', words: 'flow is not compared now' };
  const named = elsewhere('', inputs);
  return named === null
    ? { is: 'unnamed', words: `flow is ${where} its band, no cause named yet` }
    : { is: 'explained', words: `flow is ${where === 'below' ? 'lower' : 'higher'} because of ${named}` };
}

/** Why a line whose end is inside its band is as modelled: no more than its readings carry. */
export function matchWords(inputs: AgreementInputs): string {
  const { lay, boundary, gatesTold } = inputs;
  const flow = flowTold(inputs);
  const atPump = inputs.standing.find(
    ({ verdict }) => verdict.subjectKind === 'pump' && CAUSES[verdict.cause].moves !== 'store',
  )?.verdict.cause;
  const walked = lay.walked({ ...boundary, gateOpening: gatesTold });
  const pressure = !lay.calibrated
    ? 'its end is inside its band; no baseline yet: only large changes show'
    : atPump
      ? `its end is as modelled at the pressure that the pump makes now (${CAUSES[atPump].called})`
      : walked === 'other-gates'
        ? 'its end is as modelled with the gates as told; the baseline was taken with others'
        : walked === 'other-throttle'
          ? 'its end is as modelled at this pump pressure; the baseline was taken at another'
          : 'pressure at its end matches the baseline';
  if (flow.is !== 'inside') return `${pressure}; ${flow.words}`;
  const plain = lay.calibrated && !atPump && walked === 'same' && layTroubles(inputs).length === 0;
  return plain ? 'pressure and flow match the baseline' : pressure;
}
