/** What a person chooses of the notes that a patch plays; what is not chosen is as usual. */

import type { PatchModule } from '../../patch/patch.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { notesOf } from './midi-notes.ts';

/** By the output that gives a note's gate, or the pitch of a row: `module.jack`. */
export interface MidiChoices {
  /** MIDI notes, 0 to 127, of channels of rhythms. */
  readonly notes: ReadonlyMap<string, number>;
  /** MIDI channels, 1 to 16, of channels of rhythms and of rows. */
  readonly channels: ReadonlyMap<string, number>;
  /** What has no track. */
  readonly without: ReadonlySet<string>;
}

/** Nothing is chosen. */
export const AS_USUAL: MidiChoices = {
  notes: new Map(),
  channels: new Map(),
  without: new Set(),
};

/** Gives the note of each channel of a rhythm. */
export function chosenNotes(
  { name: module, settings }: PatchModule,
  notes: MidiChoices['notes'],
): readonly number[] {
  const { channels } = rhythmSettings(settings);
  const usual = notesOf(channels);
  return channels.map(
    ({ name }, channel) => notes.get(`${module}.${name}`) ?? (usual[channel] as number),
  );
}
