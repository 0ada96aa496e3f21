/**
 * How far a pump is from cavitation: the net positive suction head that the site leaves it.
 *
 * In: suction pressure at the eye Pa gauge, as the solver gives it (velocity head not taken off; a gauge reads that
 * much less), altitude m, water temperature degC. Out: metres of water, to be held against what the pump requires. NPSH
 * = (p_air + p_eye - p_vapour) / (rho g). Air pressure: ICAO standard atmosphere to 11 km; a deep low takes off another
 * 0.5 m. Vapour pressure: Magnus form with Sonntag's (1990) constants, within 1 % from 0 to 50 degC.
 */
import { PA_PER_M } from './constants.ts';
import { requirePositive, requireWithin } from './invariant.ts';

/** Judgement: available over required; pump makers ask for 10 to 35 %, handbook example 30 %. */
const MARGIN = 1.3;

/** m: there the formula ends in a vacuum. */
const ALTITUDE_M_MAX = 44_330;
/** degC, from ice to boiling at sea level and a margin: the Magnus form has no pole near. */
const WATER_C_MIN = -40;
const WATER_C_MAX = 150;

export function airPressurePa(altitudeM: number): number {
  requireWithin('airPressurePa', 'altitude', altitudeM, -ALTITUDE_M_MAX, ALTITUDE_M_MAX);
  return 101_325 * (1 - 2.25577e-5 * altitudeM) ** 5.25588;
}

export function vapourPressurePa(temperatureC: number): number {
  requireWithin('vapourPressurePa', 'temperature', temperatureC, WATER_C_MIN, WATER_C_MAX);
  return 611.2 * Math.exp((17.62 * temperatureC) / (243.12 + temperatureC));
}

export function npshAvailableM(suctionPa: number, altitudeM: number, waterC: number): number {
  return (airPressurePa(altitudeM) + suctionPa - vapourPressurePa(waterC)) / PA_PER_M;
}

export type SuctionVerdict = 'ample' | 'near' | 'cavitates';

export function judgeSuction(availableM: number, requiredM: number): SuctionVerdict {
  requirePositive('judgeSuction', 'required head', requiredM);
  if (availableM < requiredM) return 'cavitates';
  return availableM < MARGIN * requiredM ? 'near' : 'ample';
}
