/** Suggestions for a refused value: a number with its unit, or within its range. */

import { SPAN_SECONDS, SPAN_STEPS } from '../../patch/settings.ts';
import type { Control } from '../protocol.ts';
import { type NumberControl, withUnit } from './scale.ts';

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)$/;

const TIME: NumberControl = {
  type: 'number',
  quantity: 'time',
  value: 0.01,
  ...SPAN_SECONDS,
  fallback: 0.01,
  units: ['ms', 's'],
};
const SHARE: NumberControl = {
  ...TIME,
  quantity: 'percent',
  value: 0.5,
  ...SPAN_STEPS,
  units: ['%'],
};

/** @returns the suggestions, the likeliest first; empty where nothing can be guessed. */
export function offered(typed: string, control: Control): readonly string[] {
  if (control.type === 'choice') return [];
  const text = typed.trim();
  if (control.type === 'number') return known([withUnit(text, control)]);
  switch (control.sort) {
    case 'span':
      return known([withUnit(text, TIME), withUnit(text, SHARE)]);
    case 'rate':
      return /^\d{1,2}$/.test(text) && Number(text) >= 1 && Number(text) <= 96
        ? [`${Number(text)} per quarter`, `${Number(text)} per step`]
        : [];
    case 'pitches':
      return known([withVolts(text)]);
    default:
      return [];
  }
}

/** A list with its bare numbers as volts, its notes written as notes are. */
function withVolts(text: string): string | undefined {
  const items = text
    .replace(/^\[|\]$/g, '')
    .split(/[\s,]+(?![\s,]|m?V\b)/)
    .map((item) => item.trim())
    .filter((item) => item !== '');
  const meant = items.map((item) => {
    if (NUMBER.test(item)) return `${item} V`;
    return /^[a-g][#b]?-?\d$/.test(item) ? item.charAt(0).toUpperCase() + item.slice(1) : item;
  });
  const list = `[${meant.join(', ')}]`;
  return meant.every((item, at) => item === items[at]) ? undefined : list;
}

function known(offers: readonly (string | undefined)[]): readonly string[] {
  return offers.filter((offer) => offer !== undefined);
}
