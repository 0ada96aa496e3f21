/**
 * The addresses for looking back: orders to a replay, figures and time line of a run, what the crew found, photos.
 *
 * In: the desk, and a player (null: this gateway watches a site). Out: routes under `/api/replay` and `/api/review`.
 * Reading takes *look*, anything else *work*. A replay takes no entry of any kind but what the crew found.
 */
import type { FastifyInstance } from 'fastify';
import type { ReplayDifference, ReplayOrder, ReplayState } from '../../config/wire/replay.ts';
import type { TruthTold } from '../../config/wire/truth.ts';
import { FINDS } from '../../config/causes/causes.ts';
import { REPLAY_RULES } from '../../config/wire/replay.ts';
import type { ReviewDesk } from '../review/review-desk.ts';
import { roleOf, type Lock } from './access-routes.ts';
import { addBursts } from './burst-routes.ts';
import { answered, refuse } from './errors.ts';
import { addExports } from './export-routes.ts';

export interface ReplayControls {
  readonly state: ReplayState;
  readonly differences: readonly ReplayDifference[] | null;
  order(order: ReplayOrder): void;
}

export interface ReviewParts {
  readonly player: ReplayControls | null;
  readonly desk: ReviewDesk;
}

const PHOTO_TYPES = ['image/jpeg', 'image/png', 'image/webp'];
/** A little more than what is kept, so that a photo which is too large gets a sentence instead of a cut connection. */
const PHOTO_BODY_MAX = 12_000_000;
const TIME = { type: 'number', minimum: 0, maximum: 4.1e12 };

function order(name: readonly string[], properties: Readonly<Record<string, object>> = {}): object {
  return {
    type: 'object',
    additionalProperties: false,
    required: ['do', ...Object.keys(properties)],
    properties: { do: { enum: name }, ...properties },
  };
}

const ORDER_SCHEMA = {
  type: 'object',
  required: ['do'],
  discriminator: { propertyName: 'do' },
  oneOf: [
    order(['play', 'pause', 'stop-rerun']),
    order(['step'], { seconds: { type: 'number', minimum: -86_400, maximum: 86_400 } }),
    order(['go'], { atMs: TIME }),
    order(['speed'], {
      speed: { anyOf: [{ type: 'number', exclusiveMinimum: 0, maximum: 100_000 }, { const: 'changes' }] },
    }),
    order(['rules'], { rules: { enum: REPLAY_RULES } }),
  ],
} as const;

const TOLD = {
  by: { type: 'string', pattern: '^\\S(.{0,14}\\S)?$' },
  what: { enum: [...FINDS, 'nothing-wrong', 'walked-all', 'front', 'note'] },
  at: { type: ['string', 'null'], maxLength: 200 },
  fromMs: TIME,
  toMs: { ...TIME, type: ['number', 'null'] },
  words: { type: 'string', maxLength: 1_000 },
  replaces: { type: ['integer', 'null'], minimum: 1 },
};
const TOLD_SCHEMA = {
  type: 'object',
  additionalProperties: false,
  required: Object.keys(TOLD),
  properties: TOLD,
} as const;

export function addReview(app: FastifyInstance, parts: ReviewParts, lock: Lock): void {
  app.addHook('onClose', async () => parts.desk.close());
  addReplay(app, parts.player);
  addTruth(app, parts.desk, lock);
  addExports(app, parts.desk);
  addBursts(app, parts.desk);
  app.get('/api/review', async (_request, reply) => answered(reply, () => parts.desk.review(Date.now)));
}

function addReplay(app: FastifyInstance, player: ReplayControls | null): void {
  app.get('/api/replay', async (_request, reply) => player?.state ?? refuse(reply, 'replay/none'));
  app.get('/api/replay/differences', async (_request, reply) =>
    player ? (player.differences ?? refuse(reply, 'replay/not-done')) : refuse(reply, 'replay/none'),
  );
  app.post<{ Body: ReplayOrder }>('/api/replay', { schema: { body: ORDER_SCHEMA } }, async (request, reply) => {
    if (!player) return refuse(reply, 'replay/none');
    player.order(request.body);
    return player.state;
  });
}

function addTruth(app: FastifyInstance, desk: ReviewDesk, lock: Lock): void {
  app.addContentTypeParser(PHOTO_TYPES, { parseAs: 'buffer', bodyLimit: PHOTO_BODY_MAX }, (_request, body, done) =>
    done(null, body),
  );
  app.post<{ Body: TruthTold }>('/api/review/truth', { schema: { body: TOLD_SCHEMA } }, async (request, reply) =>
    answered(reply, async () => {
      const written = desk.tell(request.body, roleOf(request, lock), Date.now());
      return written.ok ? { number: written.number } : refuse(reply, 'entry/refused', written.why);
    }),
  );
  app.post<{ Params: { number: string }; Querystring: Record<string, unknown>; Body: unknown }>(
    '/api/review/truth/:number/photo',
    { bodyLimit: PHOTO_BODY_MAX },
    async (request, reply) =>
      answered(reply, async () => {
        const { name } = request.query;
        if (!Buffer.isBuffer(request.body)) return refuse(reply, 'entry/refused', 'Send a photo: JPEG, PNG or WebP.');
        const written = desk.at.truth.addPhoto(
          Number(request.params.number),
          typeof name === 'string' ? name.slice(0, 120) : 'photo',
          request.body,
        );
        return written.ok ? { number: written.number } : refuse(reply, 'entry/refused', written.why);
      }),
  );
  app.get('/api/review/truth', async (_request, reply) => answered(reply, async () => desk.at.truth.entries()));
  app.get<{ Params: { number: string } }>('/api/review/photo/:number', async (request, reply) =>
    answered(reply, async () => {
      const photo = desk.at.truth.photo(Number(request.params.number));
      return photo ? reply.header('content-type', photo.type).send(photo.bytes) : refuse(reply, 'request/not-found');
    }),
  );
}
