/**
 * The simulator's own dice: the same seed and name give the same throws on every machine.
 *
 * In: a seed and the name of what is drawn, so that a sensor's noise does not change when another sensor is added.
 * Out: uniform and normal numbers. Generator: sfc32 (Doty-Humphrey, PractRand), from memory; seeded by FNV-1a, 32 bit.
 * Not for secrets.
 */
export class Dice {
  #a: number;
  #b: number;
  #c: number;
  #counter = 1;
  #spare: number | null = null;

  constructor(seed: number, name: string) {
    this.#a = hash(`${seed}/${name}/a`);
    this.#b = hash(`${seed}/${name}/b`);
    this.#c = hash(`${seed}/${name}/c`);
    for (let i = 0; i < 12; i++) this.unit();
  }

  /** 0 <= x < 1. */
  unit(): number {
    const sum = (this.#a + this.#b + this.#counter) | 0;
    this.#counter = (this.#counter + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = ((this.#c << 21) | (this.#c >>> 11)) + sum | 0;
    return (sum >>> 0) / 4_294_967_296;
  }

  /** Even between -half and +half. */
  within(half: number): number {
    return half * (2 * this.unit() - 1);
  }

  /** Normal with mean 0 and standard deviation 1 (Box and Muller 1958). */
  normal(): number {
    if (this.#spare !== null) {
      const value = this.#spare;
      this.#spare = null;
      return value;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - this.unit()));
    const angle = 2 * Math.PI * this.unit();
    this.#spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  }
}

function hash(text: string): number {
  let value = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) value = Math.imul(value ^ text.charCodeAt(i), 0x01000193);
  return value;
}
