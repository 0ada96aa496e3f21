/**
 * The addresses for looking back: orders to a replay, and what today's rules would have told otherwise.
 *
 * In: a player (null: this gateway watches a site). Out: routes under `/api/replay`. Reading takes *look*, an order takes *work*.
 */
import type { FastifyInstance } from 'fastify';
import type { Layout } from '../../config/layout.ts';
import type { ReplayDifference, ReplayOrder, ReplayState } from '../../config/wire.ts';
import { refuse } from './errors.ts';

export interface ReplayControls {
  readonly state: ReplayState;
  readonly differences: readonly ReplayDifference[] | null;
  order(order: ReplayOrder): void;
}

export interface ReviewParts {
  readonly player: ReplayControls | null;
  /** The run that is looked at now. */
  readonly record: () => { readonly path: string; readonly layout: Layout };
}

const TIME = { type: 'number', minimum: 0, maximum: 4.1e12 };

function order(name: readonly string[], properties: Readonly<Record<string, object>> = {}): object {
  return { type: 'object', additionalProperties: false, required: ['do', ...Object.keys(properties)], properties: { do: { enum: name }, ...properties } };
}

const ORDER_SCHEMA = {
  type: 'object', required: ['do'], discriminator: { propertyName: 'do' },
  oneOf: [
    order(['play', 'pause', 'stop-rerun']),
    order(['step'], { seconds: { type: 'number', minimum: -86_400, maximum: 86_400 } }),
    order(['go'], { atMs: TIME }),
    order(['speed'], { speed: { anyOf: [{ type: 'number', exclusiveMinimum: 0, maximum: 100_000 }, { const: 'changes' }] } }),
    order(['rules'], { rules: { enum: ['then', 'today'] } }),
  ],
} as const;

export function addReview(app: FastifyInstance, { player }: ReviewParts): void {
  app.get('/api/replay', async (_request, reply) => player?.state ?? refuse(reply, 'replay/none'));
  app.get('/api/replay/differences', async (_request, reply) => (player ? (player.differences ?? refuse(reply, 'replay/not-done')) : refuse(reply, 'replay/none')));
  app.post<{ Body: ReplayOrder }>('/api/replay', { schema: { body: ORDER_SCHEMA } }, async (request, reply) => {
    if (!player) return refuse(reply, 'replay/none');
    player.order(request.body);
    return player.state;
  });
}
