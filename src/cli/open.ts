/** Opens an address in the person's own browser. */

import { tell } from './standard-output.ts';

/** By `process.platform`: a program that takes an address and needs no shell. Other platforms have xdg-open. */
const OPENERS: { readonly [platform: string]: readonly [program: string, ...args: string[]] } = {
  darwin: ['open'],
  win32: ['rundll32', 'url.dll,FileProtocolHandler'],
};

/** Asks the system to open it, and says so on standard error if that cannot be. */
export async function openInBrowser(url: string): Promise<void> {
  const [program, ...args] = OPENERS[process.platform] ?? ['xdg-open'];
  const { spawn } = await import('node:child_process');
  const child = spawn(program, [...args, url], { detached: true, stdio: 'ignore' });
  child.once('error', () => {
    tell(`No browser could be opened with ${program}. Open the address yourself.`);
  });
  child.unref();
}
