/**
 * Findings about the sensors themselves: silent and stuck, folded by device so that one dead node is one finding.
 *
 * In: channels and time. Out: findings. When most of the site's devices fall silent together it is one finding about
 * the whole site: the link or the broker, not a dozen sensors.
 */
import type { Channel } from '../../telemetry/channel.ts';
import type { Listening } from '../../telemetry/frames.ts';
import { keyOf } from '../causes/hypothesis.ts';
import type { Finding } from '../isolation/finding.ts';

const WHOLE_SITE_SHARE = 0.6;
/**
 * Judgement: a road that loses a tenth in bursts of four seconds is silent for so long once in half a year of twenty
 * sensors of 1 Hz; eight readings in a row are lost once in a hundred million, and slow sensors of a site send a
 * million in a month.
 */
const SILENT_MS = 55_000;
const SILENT_INTERVALS = 8;

export function sensorFindings(channels: readonly Channel[], listening: Listening, nowMs: number): Finding[] {
  const byDevice = new Map<string, Channel[]>();
  for (const channel of channels) byDevice.set(channel.device, [...(byDevice.get(channel.device) ?? []), channel]);
  const silent = [...byDevice.values()].filter((group) =>
    group.every((channel) => isSilent(channel, listening, nowMs)),
  );
  if (silent.length >= 2 && silent.length >= WHOLE_SITE_SHARE * byDevice.size) {
    return [about('sensor-silent', 'site', 'site', silent.flat(), nowMs)];
  }
  const out = silent.map((group) => about('sensor-silent', group[0]!.sensor.id, 'channel', group, nowMs));
  const deadDevices = new Set(silent.map((group) => group[0]!.device));
  for (const channel of channels) {
    if (deadDevices.has(channel.device)) continue;
    if (isSilent(channel, listening, nowMs))
      out.push(about('sensor-silent', channel.sensor.id, 'channel', [channel], nowMs));
    else if (channel.stuck()) out.push(about('sensor-stuck', channel.sensor.id, 'channel', [channel], nowMs));
  }
  return out;
}

/**
 * Old readings are drawn as old at once; that a channel is silent is said when a radio link's usual bursts of loss no
 * longer explain it. One never heard is given the same time from the start.
 */
function isSilent(channel: Channel, { startedMs, awayFromMs, awayToMs }: Listening, nowMs: number): boolean {
  if (channel.freshness(nowMs) === 'fresh') return false;
  // One whose clock is slow speaks all the same.
  const heardMs = Math.max(channel.heardMs ?? startedMs, channel.latest?.atMs ?? startedMs);
  const deafMs = Math.max(0, awayToMs - Math.max(awayFromMs, heardMs));
  return nowMs - heardMs - deafMs > Math.max(SILENT_MS, SILENT_INTERVALS * 1_000 * channel.sensor.intervalS);
}

function about(
  cause: 'sensor-silent' | 'sensor-stuck',
  subject: string,
  kind: 'channel' | 'site',
  group: readonly Channel[],
  nowMs: number,
): Finding {
  const heard = group.flatMap((channel) => (channel.latest ? [channel.latest.atMs] : []));
  const lastMs = heard.length > 0 ? Math.max(...heard) : null;
  return {
    key: keyOf(cause, subject),
    cause,
    subject,
    subjectKind: kind,
    probability: 1,
    sizeM3s: null,
    evidence: [],
    rivals: [],
    question: null,
    places: group.map((channel) => ({ id: channel.sensor.id, probability: 1 / group.length })),
    sinceMs: lastMs ?? nowMs,
    facts: cause === 'sensor-silent' ? { silentS: lastMs === null ? null : (nowMs - lastMs) / 1_000 } : {},
  };
}
