/**
 * What a state is shown by: a word, a shape (drawn by parts/frame/StateMark) and a tone (a colour group of
 * style/themes.css), always together.
 */
export type Tone = 'calm' | 'unsure' | 'low' | 'medium' | 'high' | 'people';
export type Shape =
  'dot' | 'frame' | 'half' | 'wedge' | 'cross' | 'bar' | 'query' | 'octagon' | 'spike' | 'ring' | 'arrow';

export interface StateWords {
  readonly word: string;
  readonly shape: Shape;
  readonly tone: Tone;
}
