/**
 * The addresses of bursts of fast samples: which there are, and one opened as waveform and spectrum.
 *
 * In: the desk, which knows the record at hand, live or replayed. Out: `GET /api/bursts?channel=ID&from=MS&to=MS`
 * (BurstEntry[], newest first) and `GET /api/burst?channel=ID&at=MS` (BurstView).
 */
import type { FastifyInstance, FastifyReply } from 'fastify';
import type { Sensor } from '../../config/layout/layout.ts';
import { burstAt, burstsIn } from '../review/burst-view.ts';
import type { ReviewDesk } from '../review/desk/review-desk.ts';
import { answered, refuse } from './errors.ts';
import { timeOf } from './query.ts';

interface Asked {
  readonly Querystring: Readonly<Record<string, unknown>>;
}

export function addBursts(app: FastifyInstance, desk: ReviewDesk): void {
  const ofSensor = <Result>(
    reply: FastifyReply,
    channel: unknown,
    act: (sensor: Sensor) => Result,
  ): Promise<Result | FastifyReply> =>
    answered(reply, async () => {
      const sensor = desk.at.layout.sensors.find(({ id }) => id === channel);
      if (!sensor) return refuse(reply, 'site/unknown-channel');
      return sensor.quantity === 'pulse' || sensor.quantity === 'motion'
        ? act(sensor)
        : refuse(reply, 'burst/not-fast');
    });
  app.get<Asked>('/api/bursts', async ({ query }, reply) => {
    const [fromMs, toMs] = [timeOf(query['from']), timeOf(query['to'])];
    if (query['channel'] === undefined || fromMs === null || toMs === null || fromMs >= toMs)
      return refuse(reply, 'request/bad-window');
    return ofSensor(reply, query['channel'], (sensor) => burstsIn(desk.at.reader, sensor, fromMs, toMs));
  });
  app.get<Asked>('/api/burst', async ({ query }, reply) => {
    const atMs = timeOf(query['at']);
    if (query['channel'] === undefined || atMs === null) return refuse(reply, 'request/bad-moment');
    return ofSensor(
      reply,
      query['channel'],
      (sensor) => burstAt(desk.at.reader, desk.at.layout, sensor, atMs) ?? refuse(reply, 'burst/none'),
    );
  });
}
