/**
 * Loss of pressure along a hose: three laws, all as loss = resistance x |Q|^exponent (Darcy-Weisbach with a factor f).
 *
 * In: law of the kit row, bore m, length m, flow m3/s. Out: loss Pa.
 * Hazen-Williams: h = 4.727 L q^1.852 / (C^1.852 d^4.871) in ft and ft3/s (EPANET 2.2 User Manual, ch. 3), turbulent
 * cold water only. Coefficient: FL[psi] = C (Q/100 US gpm)^2 (L/100 ft) (fire-service handbook form; fitted at 50 gpm
 * and up, so it reads low at trickles). Darcy-Weisbach: laminar 64/Re, Swamee-Jain (1976) or Colebrook (1939) past Re
 * 4000, between them the cubic that meets both in value and slope.
 */
import type { FrictionLaw } from '../../../config/kit/kit.ts';
import { M_PER_FT, M3S_PER_USGPM, PA_PER_PSI } from '../../../config/units.ts';
import { PA_PER_M, WATER_DENSITY_KGM3 } from './constants.ts';
import { requireNotNegative, requirePositive } from './invariant.ts';

export const HAZEN_WILLIAMS_EXPONENT = 1.852;
const HAZEN_WILLIAMS_BORE_EXPONENT = 4.871;
/** Metres of loss per metre, bore in m and flow in m3/s: the 4.727 of the foot form carried over exactly (10.667). */
const HAZEN_WILLIAMS_SI = 4.727 * M_PER_FT ** (HAZEN_WILLIAMS_BORE_EXPONENT - 3 * HAZEN_WILLIAMS_EXPONENT);

/** m2. */
export function boreArea(boreM: number): number {
  requirePositive('boreArea', 'bore', boreM);
  return (Math.PI / 4) * boreM * boreM;
}

/** Pa per (m3/s)^exponent over the whole length; for Darcy-Weisbach at f = 1, exponent 2. */
export function frictionResistance(law: FrictionLaw, boreM: number, lengthM: number): number {
  requirePositive('frictionResistance', 'bore', boreM);
  requireNotNegative('frictionResistance', 'length', lengthM);
  if (law.law === 'darcy-weisbach') requireNotNegative('frictionResistance', 'roughness', law.roughnessM);
  else requirePositive('frictionResistance', law.law, law.c);
  switch (law.law) {
    case 'hazen-williams':
      return (
        (PA_PER_M * HAZEN_WILLIAMS_SI * lengthM) /
        (law.c ** HAZEN_WILLIAMS_EXPONENT * boreM ** HAZEN_WILLIAMS_BORE_EXPONENT)
      );
    case 'coefficient':
      return (law.c * PA_PER_PSI * (lengthM / (100 * M_PER_FT))) / (100 * M3S_PER_USGPM) ** 2;
    case 'darcy-weisbach':
      return (lengthM / boreM) * velocityPressure(boreM);
  }
}

/** Pa per (m3/s)^2: the velocity head of a bore as pressure, which loss factors multiply. */
export function velocityPressure(boreM: number): number {
  return WATER_DENSITY_KGM3 / 2 / boreArea(boreM) ** 2;
}

/** Reynolds number per m3/s. */
export function reynoldsPerFlow(boreM: number, viscosityM2s: number): number {
  requirePositive('reynoldsPerFlow', 'bore', boreM);
  requirePositive('reynoldsPerFlow', 'viscosity', viscosityM2s);
  return 4 / (Math.PI * boreM * viscosityM2s);
}

const LAMINAR_RE = 2000;
const TURBULENT_RE = 4000;

/** Darcy friction factor. Relative roughness = roughness / bore. */
export function darcyFactor(reynolds: number, relativeRoughness: number, byColebrook = false): number {
  if (reynolds <= LAMINAR_RE) return 64 / reynolds;
  if (reynolds >= TURBULENT_RE) return (byColebrook ? colebrook : swameeJain)(reynolds, relativeRoughness);
  const width = TURBULENT_RE - LAMINAR_RE;
  const t = (reynolds - LAMINAR_RE) / width;
  const laminar = 64 / LAMINAR_RE;
  const turbulent = (byColebrook ? colebrook : swameeJain)(TURBULENT_RE, relativeRoughness);
  const laminarSlope = (-laminar / LAMINAR_RE) * width;
  const turbulentSlope = (byColebrook ? colebrookSlope : swameeJainSlope)(TURBULENT_RE, relativeRoughness) * width;
  return (
    (2 * t ** 3 - 3 * t ** 2 + 1) * laminar +
    (t ** 3 - 2 * t ** 2 + t) * laminarSlope +
    (3 * t ** 2 - 2 * t ** 3) * turbulent +
    (t ** 3 - t ** 2) * turbulentSlope
  );
}

/** d f / d Re. */
export function darcyFactorSlope(reynolds: number, relativeRoughness: number, byColebrook = false): number {
  if (reynolds <= LAMINAR_RE) return -64 / reynolds ** 2;
  if (reynolds >= TURBULENT_RE) return (byColebrook ? colebrookSlope : swameeJainSlope)(reynolds, relativeRoughness);
  const width = TURBULENT_RE - LAMINAR_RE;
  const t = (reynolds - LAMINAR_RE) / width;
  const rise = (byColebrook ? colebrook : swameeJain)(TURBULENT_RE, relativeRoughness) - 64 / LAMINAR_RE;
  const laminarSlope = -64 / LAMINAR_RE ** 2;
  const turbulentSlope = (byColebrook ? colebrookSlope : swameeJainSlope)(TURBULENT_RE, relativeRoughness);
  return (
    ((6 * t - 6 * t ** 2) * rise) / width +
    (3 * t ** 2 - 4 * t + 1) * laminarSlope +
    (3 * t ** 2 - 2 * t) * turbulentSlope
  );
}

/** f = 0.25 / log10(e/3.7D + 5.74/Re^0.9)^2. */
function swameeJain(reynolds: number, relativeRoughness: number): number {
  return 0.25 / Math.log10(relativeRoughness / 3.7 + 5.74 / reynolds ** 0.9) ** 2;
}

function swameeJainSlope(reynolds: number, relativeRoughness: number): number {
  const viscous = 5.74 / reynolds ** 0.9;
  const argument = relativeRoughness / 3.7 + viscous;
  return ((0.5 / Math.log10(argument) ** 3) * (0.9 * viscous)) / (reynolds * argument * Math.LN10);
}

/**
 * 1/sqrt(f) = -2 log10(e/3.7D + 2.51/(Re sqrt f)) (Colebrook 1939): Newton on x = 1/sqrt(f), begun at Swamee & Jain.
 */
function colebrook(reynolds: number, relativeRoughness: number): number {
  const rough = relativeRoughness / 3.7;
  const smooth = 2.51 / reynolds;
  let x = 1 / Math.sqrt(swameeJain(reynolds, relativeRoughness));
  for (let i = 0; i < 4; i++) {
    const argument = rough + smooth * x;
    x -= (x + 2 * Math.log10(argument)) / (1 + (2 * smooth) / (Math.LN10 * argument));
  }
  return 1 / x ** 2;
}

/** By the implicit-function theorem on the same equation. */
function colebrookSlope(reynolds: number, relativeRoughness: number): number {
  const x = 1 / Math.sqrt(colebrook(reynolds, relativeRoughness));
  const smooth = 2.51 / reynolds;
  const steep = (2 * smooth) / (Math.LN10 * (relativeRoughness / 3.7 + smooth * x));
  const xSlope = (steep * x) / reynolds / (1 + steep);
  return (-2 * xSlope) / x ** 3;
}
