/**
 * Every error the server answers with: code, status, and the sentence a person reads.
 *
 * In: a code of this catalogue, and words where the case has its own. Out: the body `{error: {code, words, field}}`.
 */
import type { FastifyReply } from 'fastify';

const ERRORS = {
  'access/sign-in': { status: 401, words: 'Sign in first: this gateway asks for a passphrase.' },
  'access/work-only': {
    status: 403,
    words: 'You are signed in to look. Sign in with the passphrase for work to make entries.',
  },
  'access/wrong': { status: 401, words: 'That passphrase is not right.' },
  'access/wait': { status: 429, words: 'Too many tries from here: wait, then try again.' },
  'burst/none': {
    status: 404,
    words:
      'No burst of this channel is kept from that moment: nothing was sent, it was lost on the way, or ' +
      'it is so old that only minutes are kept.',
  },
  'burst/not-fast': { status: 422, words: 'This channel sends single readings, not bursts of fast samples.' },
  'entry/invalid': { status: 422, words: 'This entry cannot be read.' },
  'entry/refused': { status: 422, words: 'This entry was not taken.' },
  'replay/none': {
    status: 404,
    words: "This gateway watches a site now. Start another with '--replay RUN' to play a record back.",
  },
  'replay/not-done': { status: 404, words: "Today's rules have not been run over this record yet: choose them first." },
  'review/busy': {
    status: 429,
    words: 'Another bundle is being made for somebody: wait until it is done, then try again.',
  },
  'review/unreadable': { status: 503, words: 'The record cannot be looked back on.' },
  'request/foreign-origin': {
    status: 403,
    words: 'This page comes from somewhere else: open the gateway by its own address.',
  },
  'request/bad-window': { status: 422, words: 'A chart needs a channel and a window of time, from before to.' },
  'request/bad-moment': { status: 422, words: 'A burst needs a channel and a moment.' },
  'request/not-found': { status: 404, words: 'There is nothing at this address.' },
  'request/not-read': { status: 400, words: 'The request cannot be read.' },
  'site/unknown-channel': { status: 404, words: 'The site has no such channel.' },
  'site/no-picture': { status: 503, words: 'The gateway has only just started: there is no picture yet.' },
  'screen/not-built': {
    status: 503,
    words: "The screen is not built yet. Run 'npm run build', or start with 'npm start'.",
  },
  'server/failed': { status: 500, words: 'The gateway failed to answer. The readings go on.' },
} as const;

export type ErrorCode = keyof typeof ERRORS;

export interface ErrorBody {
  readonly error: { readonly code: ErrorCode; readonly words: string; readonly field: string | null };
}

export function errorBody(code: ErrorCode, words: string = ERRORS[code].words, field: string | null = null): ErrorBody {
  return { error: { code, words, field } };
}

export function refuse(
  reply: FastifyReply,
  code: ErrorCode,
  words?: string,
  field: string | null = null,
): FastifyReply {
  return reply.status(ERRORS[code].status).send(errorBody(code, words, field));
}

/** A record that cannot be read is told in words; the watch goes on. */
export async function answered<Result>(
  reply: FastifyReply,
  act: () => Promise<Result>,
): Promise<Result | FastifyReply> {
  try {
    return await act();
  } catch (error) {
    return refuse(
      reply,
      'review/unreadable',
      `The record cannot be looked back on: ${error instanceof Error ? error.message : String(error)}`,
    );
  }
}
