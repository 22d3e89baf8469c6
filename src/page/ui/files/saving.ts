/** Requests to the host, above all to write the texts back to their files; and, in a hand-out, downloads. */

import type { PatchTexts } from '../../../patch/texts.ts';
import type { DrawAnswer, Host, HostEvent, SaveAnswer, SaveRequest } from '../../protocol.ts';

/** Asks the host to write. Any failure becomes a refusal with a message. */
export function saved({ save }: Host, request: SaveRequest): Promise<SaveAnswer> {
  return posted<SaveAnswer>(save, request);
}

/** Asks the host for the block diagrams of some texts. Any failure becomes a refusal with a message. */
export function drawn({ draw }: Host, files: PatchTexts): Promise<DrawAnswer> {
  return posted<DrawAnswer>(draw, files);
}

interface Refusal {
  readonly type: 'refused';
  readonly message: string;
}

async function posted<A>(address: string, request: unknown): Promise<A | Refusal> {
  const headers = { 'Content-Type': 'application/json' };
  try {
    const answer = await fetch(address, {
      method: 'POST',
      headers,
      body: JSON.stringify(request),
    });
    return (await answer.json()) as A;
  } catch {
    return { type: 'refused', message: 'Forehear does not answer; it may have been stopped.' };
  }
}

/** Listens to the host for as long as the page is open. */
export function follow(
  host: Host,
  onEvent: (event: HostEvent) => void,
  onLine: (isConnected: boolean) => void,
): void {
  const events = new EventSource(host.events);
  events.onmessage = ({ data }: MessageEvent<string>) => {
    const event = JSON.parse(data) as HostEvent;
    onEvent(event);
    if (event.type === 'end') events.close();
  };
  events.onopen = () => onLine(true);
  events.onerror = () => onLine(false);
}

/** Downloads a file. @param name may have folders, which are left out. */
export function download(
  name: string,
  type: string,
  content: string | Uint8Array<ArrayBuffer>,
): void {
  const address = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = address;
  link.download = fileName(name);
  link.click();
  // The browser reads it some time after the click.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

export function fileName(path: string): string {
  return path.split(/[\\/]/).at(-1) ?? path;
}

/** The texts that differ from those on disk. */
export function unsavedTexts(now: PatchTexts, disk: PatchTexts): Readonly<Record<string, string>> {
  return Object.fromEntries(
    Object.entries(now.texts).filter(([name, text]) => disk.texts[name] !== text),
  );
}
