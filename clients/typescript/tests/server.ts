// A live coilwrightd for a test, on a free port of loopback.
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync } from 'node:fs';
import { once } from 'node:events';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { after } from 'node:test';
import { fileURLToPath } from 'node:url';

import { connect, type Client } from 'coilwright';

/** The folder of this client. */
export const home = fileURLToPath(new URL('../..', import.meta.url));

/** A client that is closed after the test, however it ends: an open one keeps the process from ending. */
export function clientOf(address: string, deadlineSeconds = 30): Client {
  const client = connect(address, { deadlineSeconds });
  after(() => client.close());
  return client;
}

export class Server {
  private constructor(
    readonly address: string,
    private readonly process: ChildProcess,
  ) {}

  static async start(...flags: string[]): Promise<Server> {
    const program = process.env['COILWRIGHTD'] ?? join(home, '../../build/bin/coilwrightd');
    if (!existsSync(program)) throw new Error(`${program} is not built; build coilwrightd, or name it in COILWRIGHTD`);
    const chosen = flags.some((flag) => flag.startsWith('--archive')) ? flags : ['--archive=none', ...flags];
    const child = spawn(program, chosen.some((flag) => flag.startsWith('--port')) ? chosen : ['--port=0', ...chosen], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let said = '';
    child.stderr!.on('data', (bytes: Buffer) => {
      said += bytes.toString();
    });
    for await (const line of createInterface(child.stdout!)) {
      const address = /^coilwrightd listening on (\S+)/.exec(line)?.[1];
      if (address === undefined) continue;
      child.stdout!.resume();
      const server = new Server(address, child);
      after(() => server.kill());
      return server;
    }
    throw new Error(`coilwrightd has ended: ${said}`);
  }

  client(deadlineSeconds = 30): Client {
    return clientOf(this.address, deadlineSeconds);
  }

  get port(): number {
    return Number(this.address.split(':').at(-1));
  }

  signal(name: NodeJS.Signals): void {
    this.process.kill(name);
  }

  /** At once, as a power loss would. */
  async kill(): Promise<void> {
    if (this.process.exitCode !== null || this.process.signalCode !== null) return;
    const ended = once(this.process, 'exit');
    this.process.kill('SIGKILL');
    await ended;
  }
}
