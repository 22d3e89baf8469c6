/**
 * The parts of the sheet that follow from a patch without playing it: facts, cables, settings, volts at the
 * triggers.
 */

import type { Prepared } from '../../engine/prepared.ts';
import { blockFigures } from '../../output/diagram/figures.ts';
import { outlineBody, settingsBody } from '../../output/sheet/outline.ts';
import { rhythmsBody } from '../../output/sheet/rhythm-body.ts';
import { outlineOf } from '../../output/sheet/sheet.ts';
import type { Patch } from '../../patch/patch.ts';
import type { OutlineView } from '../protocol.ts';

/** Writes these parts, in the words of the sheet. */
export function outlineView(of: Patch | Prepared): OutlineView {
  const outline = outlineOf(of);
  return {
    parts: {
      ...outlineBody(outline),
      settings: settingsBody(outline.settings),
      patterns: rhythmsBody(outline.rhythms),
    },
    figures: JSON.stringify(outline.figures),
  };
}

/** What a patch's block diagrams show, as JSON: settings are not in it. */
export function figuresAsJson(patch: Patch): string {
  return JSON.stringify(blockFigures(patch));
}
