/**
 * Which one cheap look or move would tell the rivals apart best: asked of people, never done by the gateway.
 *
 * In: rivals with their probabilities, the expectation and the boundary they were judged at. Out: the question of most
 * information for its cost, or null where the answer is clear or nothing would help. Moves tried in the model: gate the
 * line for half a minute, lower the throttle, carry a hand gauge to a place between, look at the likeliest places.
 * Information: each rival predicts readings with Gaussian error; of their mixture the mutual information is at least
 * -sum p_i ln sum_j p_j exp(-B_ij), B the Bhattacharyya distance (Kolchinsky & Tracey, Entropy 19 (2017) 361).
 */
import type { Candidate, Found } from './candidate.ts';
import type { Change, Expectation, Prediction } from '../model/expectation.ts';
import type { ResidualEvidence } from '../residuals/residual-evidence.ts';

export interface Question {
  readonly kind: 'gate' | 'throttle' | 'gauge' | 'look';
  /** Gate, pump or place; of a look the likeliest places. */
  readonly at: readonly string[];
  /** What its answer tells, bits, of what is open. */
  readonly bits: number;
  readonly openBits: number;
}

/** Judgement: what each costs, minutes of somebody near the lay. */
const COST_MIN = { gate: 3, throttle: 1.5, gauge: 7, look: 4 } as const;
/** Judgement: less than this is not worth a radio call; nor is a question when so little is open. */
const LEAST_BITS = 0.2;
const OPEN_BITS = 0.3;
const MOST_RIVALS = 10;
/**
 * Judgement: a hand gauge and the height where it is held; the model between sensors; seconds of reading after a move.
 */
const HAND_GAUGE_PA = 6_000;
const MODEL_SHARE = 0.01;
const READINGS = 20;
/** Judgement: who looks at the right head sees what is wrong with it nine times in ten; at a sound one hardly ever. */
const SEEN = 0.9;
const SEEN_WRONGLY = 0.02;
const LESS_PRESSURE = 0.8;
const MOST_LOOKS = 3;

type Rival = Found['rivals'][number];

/** `others`: what else was found, and stands meanwhile. */
export function bestQuestion(
  expectation: Expectation,
  evidence: ResidualEvidence,
  found: Found,
  others: readonly Candidate[],
): Question | null {
  const rivals = shares(found.rivals.filter(({ probability }) => probability > 0.005).slice(0, MOST_RIVALS));
  const openBits = entropy(rivals.map(({ probability }) => probability));
  if (rivals.length < 2 || openBits < OPEN_BITS) return null;
  const questions = [
    ...moves(expectation, evidence, rivals, others),
    ...handGauges(expectation, evidence, rivals, others),
    looks(rivals),
  ];
  const worth = ({ kind, bits }: Omit<Question, 'openBits'>): number => bits / COST_MIN[kind];
  const best = questions.sort((a, b) => worth(b) - worth(a))[0];
  return best && best.bits >= LEAST_BITS ? { ...best, openBits } : null;
}

/** Probabilities summing to one. */
function shares(rivals: readonly Rival[]): Rival[] {
  const sum = rivals.reduce((total, { probability }) => total + probability, 0);
  return rivals.map((rival) => ({ ...rival, probability: rival.probability / sum }));
}

function entropy(probabilities: readonly number[]): number {
  return probabilities.reduce((sum, p) => (p > 0 ? sum - p * Math.log2(p) : sum), 0);
}

/** Bits that readings with these means (rival by reading) and standard deviations tell at least. */
export function informationBits(
  probabilities: readonly number[],
  means: readonly Float64Array[],
  sds: Float64Array,
): number {
  let nats = 0;
  probabilities.forEach((p, i) => {
    if (p <= 0) return;
    let sum = 0;
    probabilities.forEach((q, j) => {
      let distance = 0;
      for (let n = 0; n < sds.length; n += 1) distance += ((means[i]![n]! - means[j]![n]!) / sds[n]!) ** 2 / 8;
      sum += q * Math.exp(-distance);
    });
    nats -= p * Math.log(sum);
  });
  return nats / Math.LN2;
}

/** What each rival makes of the lay, with a move or without; null where the model has no answer. */
function predictions(
  expectation: Expectation,
  evidence: ResidualEvidence,
  rivals: readonly Rival[],
  others: readonly Candidate[],
  move: Change | null,
): Prediction[] | null {
  const out: Prediction[] = [];
  for (const rival of rivals) {
    const changes = [rival, ...others].flatMap(({ hypothesis: { effect }, size }): Change[] =>
      effect.kind === 'network' ? [(settings) => effect.apply(settings, size)] : [],
    );
    const prediction = expectation.predict(evidence.belief, evidence.boundary, [...changes, ...(move ? [move] : [])]);
    if (!prediction) return null;
    out.push(prediction);
  }
  return out;
}

function moves(
  expectation: Expectation,
  evidence: ResidualEvidence,
  rivals: readonly Rival[],
  others: readonly Candidate[],
): Omit<Question, 'openBits'>[] {
  const { layout, network } = expectation;
  const lines = new Set(
    rivals.flatMap(({ hypothesis }) => (hypothesis.subjectKind === 'line' ? [hypothesis.subject] : [])),
  );
  const candidates: { kind: 'gate' | 'throttle'; at: string; move: Change }[] = layout.gates
    .filter(
      (gate) =>
        gate.line !== null &&
        lines.has(gate.line) &&
        evidence.boundary.gateOpening[network.gateIndex.get(gate.id)!]! > 0,
    )
    .map((gate) => ({
      kind: 'gate',
      at: gate.id,
      move: (settings) => void (settings.gateOpening[network.gateIndex.get(gate.id)!] = 0),
    }));
  layout.pumps.forEach((pump, index) => {
    if (evidence.boundary.dischargePa[index]! > 0)
      candidates.push({
        kind: 'throttle',
        at: pump.id,
        move: (settings) => void (settings.dischargePa[index]! *= LESS_PRESSURE),
      });
  });
  const before = predictions(expectation, evidence, rivals, others, null);
  if (!before) return [];
  return candidates.flatMap(({ kind, at, move }) => {
    const after = predictions(expectation, evidence, rivals, others, move);
    if (!after) return [];
    // What the move changes: standing errors drop out of it.
    const changes = after.map((prediction, r) =>
      Float64Array.from(evidence.observedGauges, (gauge) => prediction.values[gauge]! - before[r]!.values[gauge]!),
    );
    const sds = Float64Array.from(evidence.observedGauges, (gauge, row) => {
      const { noiseSd } = expectation.gauges[gauge]!.sensor;
      const typical = changes.reduce((sum, change) => sum + Math.abs(change[row]!), 0) / changes.length;
      return Math.hypot(noiseSd * Math.sqrt(2 / READINGS), 0.05 * typical) + 1e-12;
    });
    return [
      {
        kind,
        at: [at],
        bits: informationBits(
          rivals.map(({ probability }) => probability),
          changes,
          sds,
        ),
      },
    ];
  });
}

/** A hand gauge at a place of the line that has no sensor yet. */
function handGauges(
  expectation: Expectation,
  evidence: ResidualEvidence,
  rivals: readonly Rival[],
  others: readonly Candidate[],
): Omit<Question, 'openBits'>[] {
  const { layout, network, gauges } = expectation;
  const watched = new Set(gauges.filter(({ kind }) => kind === 'end').map(({ node }) => node));
  const lines = new Set(rivals.map(({ hypothesis }) => hypothesis.subject));
  const places = new Set(layout.hoses.filter((hose) => lines.has(hose.line ?? 'trunk')).map(({ to }) => to));
  const predicted = predictions(expectation, evidence, rivals, others, null);
  if (!predicted) return [];
  return [...places]
    .filter((place) => !watched.has(network.nodeOfPlace.get(place)!))
    .map((place) => {
      const node = network.nodeOfPlace.get(place)!;
      const means = predicted.map(({ solution }) => Float64Array.of(solution.pressurePa[node]!));
      const sd = HAND_GAUGE_PA + MODEL_SHARE * Math.abs(means[0]![0]!);
      return {
        kind: 'gauge' as const,
        at: [place],
        bits: informationBits(
          rivals.map(({ probability }) => probability),
          means,
          Float64Array.of(sd),
        ),
      };
    });
}

/** Somebody looks at the likeliest places: yes or no. */
function looks(rivals: readonly Rival[]): Omit<Question, 'openBits'> {
  const places = [...new Set(rivals.map(({ hypothesis }) => hypothesis.place))].slice(0, MOST_LOOKS);
  const looked = rivals
    .filter(({ hypothesis }) => places.includes(hypothesis.place))
    .reduce((sum, { probability }) => sum + probability, 0);
  const yes = looked * SEEN + (1 - looked) * SEEN_WRONGLY;
  const given = looked * entropy([SEEN, 1 - SEEN]) + (1 - looked) * entropy([SEEN_WRONGLY, 1 - SEEN_WRONGLY]);
  // A look also tells which of them, and what it is.
  const among = shares(rivals.filter(({ hypothesis }) => places.includes(hypothesis.place))).map(
    ({ probability }) => probability,
  );
  return { kind: 'look', at: places, bits: entropy([yes, 1 - yes]) - given + looked * SEEN * entropy(among) };
}
