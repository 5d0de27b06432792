import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';

import { pause } from './check.js';
import { clientOf, Server } from './server.js';

test('a call waits for a server that starts late', async () => {
  const port = await freePort();
  const client = clientOf(`127.0.0.1:${port}`);
  const answer = client.testLimit.getTestLimits({ rated_volts: 400 });
  answer.catch(() => {}); // where it is too early, the last line says so
  await pause(500);
  await Server.start(`--port=${port}`);
  assert.equal((await answer).withstand_ac?.test_volts, 1800);
});

test('a write that is repeated over a restart is made once', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
  try {
    const first = await Server.start(`--archive=${folder}/archive.db`);
    const client = first.client();
    const request = {
      record: { title: 'Harbour Lane cannery, dock winch' },
      recorded_by: 'Ada Quill',
      request_id: 'winch-1',
    };
    const made = await client.windingArchive.createWinding(request);
    await first.kill();
    const again = client.windingArchive.createWinding(request);
    again.catch(() => {});
    await pause(300);
    await Server.start(`--archive=${folder}/archive.db`, `--port=${first.port}`);
    assert.equal((await again).winding?.name, made.winding?.name);
    assert.equal((await client.archive.getArchive({})).entries, '1');
  } finally {
    rmSync(folder, { recursive: true });
  }
});

async function freePort(): Promise<number> {
  const server = await Server.start();
  await server.kill();
  return server.port;
}
