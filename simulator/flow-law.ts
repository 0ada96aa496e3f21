/**
 * Darcy-Weisbach friction with Churchill's factor, and the flow that a pressure difference drives through a resistance.
 *
 * Churchill, Chemical Engineering 84 (1977) 91: one formula from laminar to fully rough. In: Reynolds number, relative
 * roughness, Pa per (m3/s)^2. Out: factor; m3/s. Water at 15 degC.
 */
export const WATER_DENSITY = 1_000;
export const GRAVITY = 9.80665;
const VISCOSITY = 1.14e-6;
/** Below this difference flow is taken as linear, Pa: keeps the slope finite at rest. */
const LINEAR_PA = 40;

export function churchill(reynolds: number, relativeRoughness: number): number {
  const re = Math.max(reynolds, 50);
  const a = fourth(fourth(2.457 * Math.log(1 / ((7 / re) ** 0.9 + 0.27 * relativeRoughness))));
  const b = fourth(fourth(37_530 / re));
  const sum = a + b;
  return 8 * Math.sqrt(Math.sqrt(Math.cbrt(fourth(8 / re) ** 3 + 1 / (sum * Math.sqrt(sum)))));
}

/** Products and roots take a tenth of the time of general powers, and this is most of what a simulated second costs. */
function fourth(value: number): number {
  const square = value * value;
  return square * square;
}

/** Pa per (m3/s)^2 of a hose that carries about `flowM3s`. */
export function hoseResistance(
  boreM: number,
  lengthM: number,
  roughnessM: number,
  lossFactor: number,
  flowM3s: number,
): number {
  const area = (Math.PI / 4) * boreM ** 2;
  const reynolds = (Math.abs(flowM3s) / area) * (boreM / VISCOSITY);
  return (WATER_DENSITY / 2 / area ** 2) * ((churchill(reynolds, roughnessM / boreM) * lengthM) / boreM + lossFactor);
}

/** Flow and its slope for a pressure difference over a resistance; odd in the difference. */
export function driven(differencePa: number, resistance: number): { readonly flow: number; readonly slope: number } {
  const size = Math.hypot(differencePa, LINEAR_PA);
  const root = 1 / Math.sqrt(resistance * size);
  return { flow: differencePa * root, slope: root * (1 - (0.5 * differencePa ** 2) / size ** 2) };
}

/** Solves a small dense system in place by Gaussian elimination with partial pivoting; `matrix` rows of `size`. */
export function eliminate(matrix: Float64Array, right: Float64Array, size: number): void {
  for (let column = 0; column < size; column += 1) {
    let pivot = column;
    for (let row = column + 1; row < size; row += 1) {
      if (Math.abs(matrix[row * size + column]!) > Math.abs(matrix[pivot * size + column]!)) pivot = row;
    }
    if (pivot !== column) {
      for (let k = column; k < size; k += 1) {
        const held = matrix[column * size + k]!;
        matrix[column * size + k] = matrix[pivot * size + k]!;
        matrix[pivot * size + k] = held;
      }
      const held = right[column]!;
      right[column] = right[pivot]!;
      right[pivot] = held;
    }
    for (let row = column + 1; row < size; row += 1) {
      const share = matrix[row * size + column]! / matrix[column * size + column]!;
      if (share === 0) continue;
      for (let k = column; k < size; k += 1) matrix[row * size + k]! -= share * matrix[column * size + k]!;
      right[row]! -= share * right[column]!;
    }
  }
  for (let row = size - 1; row >= 0; row -= 1) {
    let sum = right[row]!;
    for (let k = row + 1; k < size; k += 1) sum -= matrix[row * size + k]! * right[k]!;
    right[row] = sum / matrix[row * size + row]!;
  }
}
