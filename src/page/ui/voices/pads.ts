/**
 * Strokes by a MIDI pad: the note says which channel, the velocity whether it is accented. The browser
 * asks a person for it, so it is asked for only by a press.
 *
 * Source: Web MIDI API, W3C; MIDI 1.0, channel voice messages.
 */

/** Called with each note that begins: its number and its velocity, 1 to 127. */
export type OnNote = (note: number, velocity: number) => void;

const NOTE_ON = 0x90;
/** From here on a stroke is an accent: the louder quarter of what a pad gives. */
export const ACCENT_VELOCITY = 96;

/** Whether this browser has Web MIDI. */
export function hasPads(): boolean {
  return typeof navigator.requestMIDIAccess === 'function';
}

/**
 * Listens to all inputs, including those that are plugged in later.
 * @param onInputs is called with their names whenever they change.
 * @throws Error if a person or the browser says no.
 */
export async function listenToPads(
  onNote: OnNote,
  onInputs: (names: readonly string[]) => void,
): Promise<void> {
  const access = await navigator.requestMIDIAccess();
  const listen = (): void => {
    const inputs = [...access.inputs.values()].filter(({ state }) => state === 'connected');
    for (const input of inputs)
      input.onmidimessage = ({ data }) => {
        const [status = 0, note = 0, velocity = 0] = data ?? [];
        // With velocity 0 it is the end of a note.
        if ((status & 0xf0) === NOTE_ON && velocity > 0) onNote(note, velocity);
      };
    onInputs(inputs.map(({ name }) => name ?? 'an input without a name'));
  };
  access.onstatechange = listen;
  listen();
}
