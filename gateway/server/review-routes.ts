/**
 * The addresses for looking back: orders to a replay, figures and time line of a run, what the crew found, photos.
 *
 * In: the desk, and a player (null: this gateway watches a site). Out: routes under `/api/replay` and `/api/review`.
 * Reading takes *look*, anything else *work*. A replay takes no entry of any kind but what the crew found.
 */
import type { FastifyInstance } from 'fastify';
import {
  REPLAY_ORDER_SCHEMA,
  type ReplayDifference,
  type ReplayOrder,
  type ReplayState,
} from '../../config/wire/replay.ts';
import { TRUTH_SCHEMA, type TruthTold } from '../../config/wire/truth.ts';
import type { ReviewDesk } from '../review/desk/review-desk.ts';
import { roleOf, type Lock } from './access-routes.ts';
import { addBursts } from './burst-routes.ts';
import { answered, refuse } from './errors.ts';
import { addExports } from './export-routes.ts';

interface ReplayControls {
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
  app.post<{ Body: ReplayOrder }>('/api/replay', { schema: { body: REPLAY_ORDER_SCHEMA } }, async (request, reply) => {
    if (!player) return refuse(reply, 'replay/none');
    player.order(request.body);
    return player.state;
  });
}

function addTruth(app: FastifyInstance, desk: ReviewDesk, lock: Lock): void {
  app.addContentTypeParser(PHOTO_TYPES, { parseAs: 'buffer', bodyLimit: PHOTO_BODY_MAX }, (_request, body, done) =>
    done(null, body),
  );
  app.post<{ Body: TruthTold }>('/api/review/truth', { schema: { body: TRUTH_SCHEMA } }, async (request, reply) =>
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
