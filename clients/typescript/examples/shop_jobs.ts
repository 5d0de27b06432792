// node dist/examples/shop_jobs.js [--ca FILE [--cert FILE --key FILE]] [HOST:PORT] JOBS.csv > ANSWERS.csv
//
// For a shop system that exports its jobs as CSV: asks for every row the test levels of the rewound winding and a rewind
// plan, and writes them as CSV in the same order. A row that cannot be answered says which column is wrong and what would
// be accepted. Exit status, as that of the command line: 0 every row answered; 2 the file cannot be used; 3 some rows
// have no answer; 4 the server could not be reached; 5 every row answered, and a record among them that is not to be
// wound by.
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';

import {
  connect,
  ServiceError,
  type Client,
  type GetTestLimitsResponse,
  type PlanRewindResponse,
  type Request,
  type WindingRecord,
} from 'coilwright';

import { CsvError, parseCsv, writeCsv, type Row } from './csv.js';
import { CellError, columnOf, columns, put } from './job_columns.js';

interface Answer {
  readonly job: string;
  readonly motor: string;
  limits?: GetTestLimitsResponse;
  plan?: PlanRewindResponse;
  /** What is wrong, by the column it stands in; "" where it is no single one. */
  readonly problems: Map<string, string>;
}

const header = [
  'Job',
  'Motor',
  'Outcome',
  'Problem',
  'Record check',
  'Withstand V ac rms',
  'Hold s',
  'Surge V peak',
  'Megohm test V dc',
  'Least megohms at 40 C',
  'Wire',
  'Slot fullness %',
  'Ohms line to line at 20 C',
  'Ohms low',
  'Ohms high',
  'Wire to buy kg',
  'Cautions',
  'Data revision',
];

// What a row can be refused for. Any other error is of the server or the line, and there is no use in going on.
const ofTheRow = new Set(['INVALID_ARGUMENT', 'FAILED_PRECONDITION', 'NOT_FOUND']);

const usage = 'usage: node shop_jobs.js [--ca FILE [--cert FILE --key FILE]] [HOST:PORT] JOBS.csv';

function readJobs(bytes: Uint8Array): Record<string, string>[] {
  let text;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new CsvError('not UTF-8');
  }
  const [head, ...rows] = parseCsv(text);
  if (head === undefined) throw new CsvError('empty');
  const names = head.cells.map((name) => name.trim());
  for (const name of ['Job', ...Object.keys(columns)]) {
    const found = names.filter((other) => other === name).length;
    if (found > 1) throw new CsvError(`line ${head.line}: column ${name} stands there ${found} times`);
    if (found === 0)
      throw new CsvError(
        `line ${head.line}: no column ${name}${names.length === 1 ? '; accepted: commas between cells' : ''}`,
      );
  }
  return rows.map(({ line, cells }: Row) => {
    if (cells.length !== names.length)
      throw new CsvError(`line ${line}: ${cells.length} cells under ${names.length} columns`);
    return Object.fromEntries(names.map((name, i) => [name, cells[i]!.trim()]));
  });
}

async function answerTo(client: Client, row: Record<string, string>): Promise<Answer> {
  const answer: Answer = { job: row['Job'] ?? '', motor: row['Motor'] ?? '', problems: new Map() };
  const record: Request<WindingRecord> = {};
  for (const [name, { path, read }] of Object.entries(columns)) {
    const cell = row[name];
    if (cell === undefined || cell === '') continue; // not known is left out, and never zero
    try {
      put(record, path, read(cell));
    } catch (error) {
      if (!(error instanceof CellError)) throw error;
      answer.problems.set(name, error.message);
    }
  }
  if (answer.problems.size > 0) return answer;
  const { rated_volts, rated_power, built_year } = record.machine?.nameplate ?? {};
  await noting(answer.problems, 'machine.nameplate.', async () => {
    answer.limits = await client.testLimit.getTestLimits({
      rated_volts,
      rated_power,
      built_year,
      choice: { condition: 'WINDING_CONDITION_FULLY_REWOUND' },
    });
  });
  await noting(answer.problems, '', async () => {
    answer.plan = await client.rewindPlan.planRewind({ record, wires: { best: 1 } });
  });
  return answer;
}

/** Runs a call and notes what is wrong with the row; `place` is where the fields of its request stand in the record. */
async function noting(problems: Map<string, string>, place: string, call: () => Promise<void>): Promise<void> {
  try {
    await call();
  } catch (error) {
    if (!(error instanceof ServiceError) || !ofTheRow.has(error.code)) throw error;
    if (error.violations.length === 0) problems.set('', error.message);
    for (const { field, description } of error.violations) {
      const column = columnOf(place + field);
      problems.set(column ?? field, column === undefined ? description : `${description} (${field})`);
    }
  }
}

// A record that does not explain what was measured: what is planned by it would copy its slips.
function isStopped({ plan }: Answer): boolean {
  const check = plan?.record_check;
  return (
    check !== undefined &&
    (check.stopped_by.length > 0 ||
      check.verdict === 'CHECK_VERDICT_EXPLAINED' ||
      check.verdict === 'CHECK_VERDICT_UNEXPLAINED')
  );
}

function isAnswered({ limits, plan, problems }: Answer): boolean {
  return limits !== undefined && plan !== undefined && problems.size === 0;
}

function cellsOf(answer: Answer): string[] {
  const { job, motor, limits, plan, problems } = answer;
  const stopped = isStopped(answer);
  const way = stopped ? undefined : plan?.options[0];
  const ohms = way?.resistance[0]?.at_terminals_ohms;
  return [
    job,
    motor,
    stopped ? 'stop' : isAnswered(answer) ? 'planned' : 'not answered',
    [...problems].map(([column, what]) => (column === '' ? what : `${column}: ${what}`)).join(' | '),
    plan?.record_check?.summary ?? '',
    figure(limits?.withstand_ac?.test_volts),
    figure(limits?.withstand_ac?.hold_seconds),
    figure(limits?.surge?.test_volts),
    figure(limits?.megohm_test?.test_volts),
    figure(limits?.minimum_megohms),
    way?.conductor?.strands.map((strand) => `${strand.wires_in_hand} x ${strand.designation}`).join(' + ') ?? '',
    figure(way?.fill && 100 * way.fill.fullness_ratio),
    figure(ohms?.nominal),
    figure(ohms?.low),
    figure(ohms?.high),
    figure(way?.wire_orders.reduce((sum, wire) => sum + wire.order_kg, 0)),
    [...new Set([...(plan?.cautions ?? []), ...(limits?.cautions ?? [])])].join(' | '),
    plan?.data_revision ?? limits?.data_revision ?? '',
  ];
}

function figure(value: number | undefined): string {
  return value === undefined ? '' : String(Number(value.toPrecision(4)));
}

/** What was asked for, or why it cannot be used. */
function read(words: string[]) {
  const file = { type: 'string' } as const;
  const { values, positionals } = parseArgs({
    args: words,
    options: { ca: file, cert: file, key: file },
    allowPositionals: true,
  });
  const name = positionals.pop();
  const [address, ...others] = positionals;
  if (name === undefined || others.length > 0) throw new TypeError(usage);
  let jobs;
  try {
    jobs = readJobs(readFileSync(name));
  } catch (error) {
    throw error instanceof CsvError ? new CsvError(`${name}: ${error.message}`) : error;
  }
  return { jobs, client: connect(address, { ca: values.ca, certificate: values.cert, key: values.key }) };
}

async function main(words: string[]): Promise<number> {
  let asked;
  try {
    asked = read(words);
  } catch (error) {
    console.error(`shop_jobs: ${(error as Error).message}`);
    return 2;
  }
  const { jobs, client } = asked;
  try {
    const answers: Answer[] = [];
    for (const job of jobs) answers.push(await answerTo(client, job));
    process.stdout.write(writeCsv([header, ...answers.map(cellsOf)]));
    const without = answers.filter((answer) => !isAnswered(answer)).length;
    const stopped = answers.filter(isStopped).length;
    console.error(`shop_jobs: ${answers.length} jobs, ${without} without an answer, ${stopped} to stop`);
    return without > 0 ? 3 : stopped > 0 ? 5 : 0;
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    console.error(`shop_jobs: ${error.code}: ${error.message}`);
    return 4;
  } finally {
    client.close();
  }
}

process.exitCode = await main(process.argv.slice(2));
