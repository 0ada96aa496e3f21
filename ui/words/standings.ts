/** Words and marks for where a pressure stands against what a head needs and bears, and for a pump's suction. */
import type { SuctionVerdict } from '../../gateway/core/hydraulics/cavitation.ts';
import type { HeadStanding } from '../../gateway/core/hydraulics/limits.ts';
import type { StateWords } from './marks.ts';

export const STANDINGS: Record<HeadStanding, StateWords> = {
  turns: { word: 'in range', shape: 'dot', tone: 'calm' },
  'no-water': { word: 'no water', shape: 'cross', tone: 'high' },
  'too-weak': { word: 'under turning pressure', shape: 'wedge', tone: 'medium' },
  'too-strong': { word: 'above its range', shape: 'arrow', tone: 'medium' },
  breaks: { word: 'may break or fly off', shape: 'spike', tone: 'high' },
};

export const SUCTIONS: Record<SuctionVerdict, StateWords> = {
  ample: { word: 'suction ample', shape: 'dot', tone: 'calm' },
  near: { word: 'suction near its limit', shape: 'wedge', tone: 'medium' },
  cavitates: { word: 'pump would cavitate', shape: 'spike', tone: 'high' },
};

/** Worst first. */
export const STANDING_ORDER: readonly HeadStanding[] = ['breaks', 'no-water', 'too-weak', 'too-strong', 'turns'];
