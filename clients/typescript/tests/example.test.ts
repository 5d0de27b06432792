import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';

import { CsvError, parseCsv, writeCsv } from '../examples/csv.js';
import { columnOf, put } from '../examples/job_columns.js';
import { home, Server } from './server.js';

const jobs = `${home}examples/harbour-lane-jobs.csv`;

interface Ended {
  readonly status: number;
  readonly stdout: string;
  readonly stderr: string;
}

function shopJobs(...words: string[]): Promise<Ended> {
  return new Promise((resolve) => {
    const child = execFile(process.execPath, [`${home}dist/examples/shop_jobs.js`, ...words], (_, stdout, stderr) =>
      resolve({ status: child.exitCode ?? -1, stdout, stderr }),
    );
  });
}

/** The rows of an answer by their columns. */
function table(csv: string): Record<string, string>[] {
  const [head, ...rows] = parseCsv(csv);
  return rows.map(({ cells }) => Object.fromEntries(head!.cells.map((name, i) => [name, cells[i]!])));
}

/** Runs the example over a file of our own. */
async function over(address: string, content: string | Uint8Array): Promise<Ended> {
  const folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
  try {
    writeFileSync(join(folder, 'jobs.csv'), content);
    return await shopJobs(address, join(folder, 'jobs.csv'));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

test('the export of the Harbour Lane cannery is answered row by row', async () => {
  const server = await Server.start();
  const { status, stdout, stderr } = await shopJobs(server.address, jobs);
  assert.equal(status, 3, stderr);
  assert.equal(stderr, 'shop_jobs: 7 jobs, 4 without an answer, 1 to stop\n');
  const rows = table(stdout);
  assert.deepEqual(
    rows.map((row) => [row['Job'], row['Outcome']]),
    [
      ['7101', 'planned'],
      ['7102', 'planned'],
      ['7103', 'not answered'],
      ['7104', 'not answered'],
      ['7105', 'not answered'],
      ['7106', 'stop'],
      ['7107', 'not answered'],
    ],
  );
  assert.deepEqual(
    rows.map((row) => row['Problem']),
    [
      '',
      '',
      'kW: got "2,2", accepted: a number with a point, 2.2',
      'Volts: got 0 V, accepted: 1 V to 50000 V (record.machine.nameplate.rated_volts) | ' +
        'Turns: got nothing, accepted: 1 to 10000 turns, or groups coil by coil (record.winding.turns_per_coil)',
      'no balanced three-phase winding: 10 slots cannot be shared equally by three phases: 10 is not a multiple of 3',
      '',
      'Kind: got "steam", accepted: induction, servo, dc',
    ],
  );
  assert.equal(rows[0]?.['Motor'], 'Retort fan, line 1');
  assert.equal(rows[1]?.['Motor'], 'Seamer head drive "south"');

  // What stands in the table is what the service says.
  const client = server.client();
  const limits = await client.testLimit.getTestLimits({ rated_volts: 400, rated_power: { kw: 3 }, built_year: 1998 });
  assert.equal(rows[0]?.['Withstand V ac rms'], String(limits.withstand_ac?.test_volts));
  assert.equal(rows[0]?.['Surge V peak'], String(limits.surge?.test_volts));
  assert.match(rows[0]?.['Wire'] ?? '', /^2 x 0\.85 mm grade 2$/);
  assert.ok(Number(rows[0]?.['Ohms low']) < Number(rows[0]?.['Ohms line to line at 20 C']));
  for (const row of rows.filter((each) => each['Withstand V ac rms'] !== ''))
    assert.match(row['Cautions'] ?? '', /local codes and a qualified person decide/);
  assert.match(rows[5]?.['Cautions'] ?? '', /^STOP: the record does not agree with physics/);
  assert.match(rows[5]?.['Record check'] ?? '', /38 should read 19/);
  for (const column of ['Wire', 'Ohms line to line at 20 C', 'Wire to buy kg'])
    assert.equal(rows[5]?.[column], '', 'nothing to wind by');
});

test('the exit status tells how it went', async () => {
  const server = await Server.start();
  const [head = '', ...rows] = readFileSync(jobs, 'utf8').split('\r\n');
  const only = (...numbers: string[]) =>
    [head, ...rows.filter((row) => numbers.some((number) => row.startsWith(number))), ''].join('\n');
  const expected: [string, string | Uint8Array, number, RegExp][] = [
    [server.address, only('7101', '7102'), 0, /2 jobs, 0 without an answer, 0 to stop/],
    [server.address, only('7101', '7106'), 5, /2 jobs, 0 without an answer, 1 to stop/],
    [server.address, only('7106', '7107'), 3, /2 jobs, 1 without an answer, 1 to stop/],
    [server.address, head, 0, /0 jobs/],
    ['127.0.0.1:1', only('7101'), 4, /^shop_jobs: UNAVAILABLE: no answer from 127\.0\.0\.1:1/],
    ['localhost', only('7101'), 2, /address: got "localhost", accepted: HOST:PORT/],
    [server.address, '', 2, /jobs\.csv: empty/],
    [server.address, 'Job;Motor;Volts\n', 2, /line 1: no column Job; accepted: commas between cells/],
    [server.address, only('7101').replace(',Turns,', ',Windings,'), 2, /line 1: no column Turns\n/],
    [server.address, only('7101').replace('Shelf', 'Turns'), 2, /line 1: column Turns stands there 2 times/],
    [server.address, only('7101').replace('A3,', ''), 2, /line 2: 25 cells under 26 columns/],
    [
      server.address,
      only('7101').replace('"Retort', 'Retort'),
      2,
      /line 2: a quote or a line end inside a cell without quotes/,
    ],
    [server.address, Buffer.from(only('7101').replace('Retort', 'R\xe9tort'), 'latin1'), 2, /not UTF-8/],
  ];
  await Promise.all(
    expected.map(async ([address, content, status, said]) => {
      const ended = await over(address, content);
      assert.equal(ended.status, status, ended.stderr);
      assert.match(ended.stderr, said);
      assert.equal(ended.stdout === '', status === 2 || status === 4, 'half an answer is none');
    }),
  );
  const nowhere = await shopJobs(server.address, '/nowhere/jobs.csv');
  assert.equal(nowhere.status, 2);
  assert.match(nowhere.stderr, /ENOENT.*\/nowhere\/jobs\.csv/);
  assert.match((await shopJobs()).stderr, /^shop_jobs: usage: /);
  assert.match((await shopJobs('--cert', jobs, server.address, jobs)).stderr, /^shop_jobs: certificate and key: got one of/);
  assert.match((await shopJobs('--certificate', jobs)).stderr, /^shop_jobs: Unknown option '--certificate'/);
});

test('CSV is read as RFC 4180 has it', () => {
  const cells = (text: string) => parseCsv(text).map((row) => row.cells);
  assert.deepEqual(cells('\uFEFFa,b\r\n"1,5","say ""ah"""\r\n'), [
    ['a', 'b'],
    ['1,5', 'say "ah"'],
  ]);
  assert.deepEqual(cells('a\n\n"two\r\nlines",\nlast'), [['a'], ['two\r\nlines', ''], ['last']]);
  assert.deepEqual(
    parseCsv('"a\nb"\n\nc').map((row) => row.line),
    [1, 4],
  );
  assert.deepEqual(cells(',\n""\n,'), [['', ''], [''], ['', '']]);
  assert.deepEqual(cells(''), []);
  for (const [text, said] of [
    ['a\nb"c', /^line 2: a quote or a line end inside a cell/],
    ['a\n\n"b', /^line 3: a quote opens a cell and none closes it/],
    ['"a"b', /^line 1: text after the closing quote/],
    ['a\rb', /^line 1: a quote or a line end inside a cell/],
  ] as const)
    assert.throws(
      () => parseCsv(text),
      (error) => error instanceof CsvError && said.test(error.message),
      text,
    );
  const hard = [
    ['a,b', '"', 'x\r\ny', '', 'plain'],
    ['1', '2', '3', '4', '5'],
  ];
  assert.deepEqual(cells(writeCsv(hard)), hard);
});

test('a violation finds its column, and a cell its place', () => {
  assert.equal(columnOf('record.machine.nameplate.rated_volts'), 'Volts');
  assert.equal(columnOf('record.winding.strands'), 'Wire');
  assert.equal(columnOf('record.machine.core.bore_diameter'), 'Bore mm');
  assert.equal(columnOf('record.machine.fitted'), undefined);
  const record = {};
  put(record, 'winding.strands[0].wires_in_hand', 2);
  put(record, 'winding.strands[0].wire.designation', 'x');
  assert.deepEqual(record, { winding: { strands: [{ wires_in_hand: 2, wire: { designation: 'x' } }] } });
});
