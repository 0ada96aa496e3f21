/**
 * The addresses for taking a run away: tables as CSV, the page to print, the bundle with its sums.
 *
 * In: the desk. Out: `GET /api/review/export/...`; with `?names=removed` the copy without names and places. File names
 * say SIMULATED and REPLAY. The page may use its own style sheet, by its hash, and nothing else.
 */
import { createHash } from 'node:crypto';
import type { Readable } from 'node:stream';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { bundleStream } from '../review/desk/bundle.ts';
import { csvText } from '../review/csv.ts';
import { namedCopy, namelessCopy, type Copy } from '../review/anonymised.ts';
import { reportPage } from '../review/report-page.ts';
import type { ReviewDesk } from '../review/desk/review-desk.ts';
import { tablesOf } from '../review/tables.ts';
import { refuse } from './errors.ts';
import { SECURITY_HEADERS } from './headers.ts';

interface Asked {
  readonly Params: { readonly table: string };
  readonly Querystring: Readonly<Record<string, unknown>>;
}

export function addExports(app: FastifyInstance, desk: ReviewDesk): void {
  const copyFor = async (request: FastifyRequest<Asked>): Promise<Copy> => {
    const review = await desk.review(Date.now);
    return request.query['names'] === 'removed'
      ? namelessCopy(review, desk.at.layout)
      : namedCopy(review, desk.at.layout);
  };
  app.get<Asked>('/api/review/export/tables', async (request) =>
    tablesOf(await copyFor(request)).map(({ name, rows }) => ({ name, rows: rows.length })),
  );
  app.get<Asked>('/api/review/export/csv/:table', async (request, reply) => {
    const copy = await copyFor(request);
    const table = tablesOf(copy).find(({ name }) => name === request.params.table.replace(/\.csv$/, ''));
    if (!table) return refuse(reply, 'request/not-found');
    return attached(reply, `${stem(copy)}-${table.name}.csv`, 'text/csv; charset=utf-8').send(csvText(table));
  });
  app.get<Asked>('/api/review/export/report.html', async (request, reply) => {
    const { reader, layout } = desk.at;
    const { html, style } = reportPage(await copyFor(request), layout, reader, Date.now());
    const hash = createHash('sha256').update(style).digest('base64');
    const policy = SECURITY_HEADERS['content-security-policy']!.replace(
      "style-src 'self'",
      `style-src 'sha256-${hash}'`,
    );
    return reply
      .header('content-security-policy', policy)
      .header('content-type', 'text/html; charset=utf-8')
      .send(html);
  });
  let bundling: Readable | null = null;
  app.get<Asked>('/api/review/export/bundle.tar.gz', async (request, reply) => {
    const copy = await copyFor(request);
    if (bundling !== null && !bundling.closed) return refuse(reply, 'review/busy');
    const { reader, layout, truth } = desk.at;
    bundling = bundleStream({ copy, layout, record: reader, truth, madeMs: Date.now() });
    return attached(reply, `${stem(copy)}.tar.gz`, 'application/gzip').send(bundling);
  });
}

function stem({ review, nameless }: Copy): string {
  return [
    review.simulated ? 'SIMULATED' : '',
    review.replay ? 'REPLAY' : '',
    nameless ? 'run-without-names' : review.run,
  ]
    .filter((part) => part !== '')
    .join('-');
}

/** A run's name is made of small letters, digits and hyphens; whatever else a record may hold stays out of a header. */
function attached(reply: FastifyReply, name: string, type: string): FastifyReply {
  return reply
    .header('content-type', type)
    .header('content-disposition', `attachment; filename="${name.replaceAll(/[^A-Za-z0-9._-]/g, '_')}"`);
}
