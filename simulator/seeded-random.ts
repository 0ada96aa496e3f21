/**
 * The simulator's random numbers: the same seed gives the same numbers on every machine.
 *
 * Mulberry32 (public domain, T. Ettinger 2017, from memory) for uniforms, Box-Muller for normals. `named` gives an
 * independent stream for a name, so that adding a sensor does not shift the noise of the others.
 */
export class SeededRandom {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  static named(seed: number, name: string): SeededRandom {
    let hash = 2_166_136_261 ^ seed;
    for (let i = 0; i < name.length; i += 1) hash = Math.imul(hash ^ name.charCodeAt(i), 16_777_619);
    return new SeededRandom(hash ^ (hash >>> 15));
  }

  /** [0, 1). */
  uniform(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.uniform();
  }

  normal(): number {
    return Math.sqrt(-2 * Math.log(1 - this.uniform())) * Math.cos(2 * Math.PI * this.uniform());
  }
}
