/* A person at a machine: does what the page shows and nothing else, and tells what the lamps show. The plan says how presses are made, how
   large the screen is, where the hand slips, and after which press the lid is closed. Levers and keys are read off the screen, not out of
   the data. What came of it goes to standard output as JSON. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const [file, planText] = process.argv.slice(2);
const plan = JSON.parse(planText);
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const told = {
  end: '', wrong: '', log: [], memory: {}, presses: 0, left: 0, hand: [], found: [], outside: [], console: [], faults: [], screens: 0
};
const machine = { levers: { address: 0, data: 0, sense: 0 }, at: 0, deposits: 0 };

/** What the screen shows, as far as a person needs it. */
function read() {
  const text = one => (document.querySelector(one) || { textContent: '' }).textContent;
  const svg = document.querySelector('#stage svg.levers');
  const wide = document.documentElement.scrollWidth - window.innerWidth;
  const on = document.querySelector('#on').getBoundingClientRect();
  return {
    text: text('#stage'), place: text('#place'), key: text('#stage .key'), wrong: text('#stage .wrong'),
    bank: svg && svg.getAttribute('aria-label').split(' ')[0].toLowerCase(),
    numbers: svg && [...svg.querySelectorAll('text')].map(one => Number(one.textContent)),
    looks: svg && [...svg.querySelectorAll('use')].map(one => one.getAttribute('xlink:href').slice(-2)),
    lamps: document.querySelector('#stage .lamps') !== null,
    cut: wide > 0 ? wide + ' points too wide' : on.bottom > window.innerHeight + 1 ? 'Go on lies below the screen' : ''
  };
}

/** Moves the levers that are set off, and finds them all as drawn then. */
function hand(screen) {
  if (!screen.bank) return;
  const own = panel[screen.bank].on;
  let value = 0;
  screen.looks.forEach((look, at) => {
    const mark = 1 << screen.numbers[at];
    const up = look[0] === '1';
    if (look[1] === '1') machine.levers[own] = up ? machine.levers[own] | mark : machine.levers[own] & ~mark;
    else if (((machine.levers[own] & mark) !== 0) !== up) told.wrong = `lever ${screen.numbers[at]} stands otherwise at ${screen.place}`;
    if (up) value |= mark >> screen.numbers[screen.numbers.length - 1];
  });
  told.hand.push(`${screen.bank} ${value}`);
}

function key(name) {
  if (!name) return;
  told.hand.push(name);
  const { address, data } = machine.levers;
  const deposit = () => {
    const byte = panel.data.on === 'address' ? address & 255 : data;
    machine.deposits++;
    told.memory[machine.at] = machine.deposits === plan.slipAt ? byte ^ plan.slip : byte;
  };
  const next = () => { machine.at = machine.at + 1 & 0xffff; };
  switch (name) {
    case 'EXAMINE': machine.at = address; break;
    case 'EXAMINE NEXT': next(); break;
    case 'DEPOSIT NEXT': next(); deposit(); break;
    case 'DEPOSIT': deposit(); break;
    default: told.wrong = `no key ${name}`;
  }
}

/** A tap is done when the page has had its click, which the browser makes of it some time later. */
async function tap(what) {
  const before = await page.evaluate('window.clicks');
  await page.tap(what);
  await page.waitForFunction(before => window.clicks > before, before);
}

async function press(name) {
  told.presses++;
  if (plan.taps) await tap(name === 'PageUp' ? '#back' : '#on');
  else await page.keyboard.press(name);
}

async function lamps() {
  const byte = told.memory[machine.at] ?? 0o125;
  for (let bit = 7; bit >= 0; bit--) {
    if (!(byte >> bit & 1)) continue;
    if (plan.taps) await tap(`[data-lamp="${bit}"]`);
    else await page.keyboard.press(String(bit));
  }
  if (byte) await press('Space');
  else if (plan.taps) await tap('#stage .choices button');
  else await page.keyboard.press('n');
}

/** What an accessibility checker says of a kind of screen, once. */
const seen = new Set();
async function judge(screen) {
  const kind = [screen.place.replace(/, step.*/, ''), screen.bank, screen.key, screen.lamps, screen.wrong !== ''].join();
  if (screen.cut) told.faults.push(`${screen.place}: ${screen.cut}`);
  if (!plan.judged || seen.has(kind)) return;
  seen.add(kind);
  told.screens = seen.size;
  await page.evaluate(axe);
  const found = await page.evaluate('axe.run()');
  found.violations.forEach(one => told.faults.push(`${screen.place}: ${one.id}: ${one.nodes.map(node => node.html).join(' ')}`));
}

/** One press, or a way off the straight one: the lid is closed, or what was before is looked at. */
let closed = false;
let looked = false;
async function step() {
  if (told.presses === plan.reloadAt && !closed) {
    closed = true;
    await page.reload();
  }
  const screen = await page.evaluate(read);
  await judge(screen);
  if (/You left off/.test(screen.text)) {
    told.log.push('resumed');
    return press('Space');
  }
  if (/A byte is wrong/.test(screen.text)) {
    told.log.push(screen.wrong);
    return press('Space');
  }
  if (/last step/.test(screen.text)) {
    told.end = 'done';
    return undefined;
  }
  if (told.presses === plan.lookAt && !looked) {
    looked = true;
    for (const name of ['PageUp', 'PageUp', 'Space', 'Space']) await press(name);
    if ((await page.evaluate(read)).place !== screen.place) told.wrong = 'looking back has moved on';
  }
  hand(screen);
  key(screen.key);
  return screen.lamps ? lamps() : press('Space');
}

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu', '--disable-quic']
});
const context = await browser.newContext({
  viewport: { width: plan.width || 768, height: plan.height || 1024 }, hasTouch: true, colorScheme: plan.dark ? 'dark' : 'light'
});
const page = await context.newPage();
await page.addInitScript('window.clicks = 0; addEventListener("click", () => window.clicks++, true);');
const url = pathToFileURL(file).href;
page.on('request', request => { if (request.url() !== url && !request.url().startsWith('data:')) told.outside.push(request.url()); });
page.on('console', message => told.console.push(message.text()));
page.on('pageerror', error => told.console.push(String(error)));
await page.goto(url);
const panel = await page.evaluate(() => JSON.parse(document.getElementById('data').textContent).pictures);
if (plan.script) {
  process.stdout.write(JSON.stringify(await page.evaluate(readFileSync(plan.script, 'utf8'))));
} else {
  while (!told.end && !told.wrong && told.presses < 5000) await step();
  for (const answer of plan.answers || []) {
    if (answer === plan.answers[0]) await page.tap('text=It does not go as shown');
    const list = await page.$('#stage select');
    if (list) {
      await list.selectOption({ label: answer });
      await page.tap('text=That is what is seen');
    } else {
      await page.tap(`#stage .choices button:text-is("${answer}")`);
    }
    await judge(await page.evaluate(read));
  }
  if (plan.answers) told.found = await page.$$eval('#stage dt', all => all.map(one => one.textContent));
  told.left = await page.evaluate(() => Object.keys(localStorage).filter(one => one.startsWith('coldwright guide: ') && localStorage.getItem(one) !== 'null').length);
  process.stdout.write(JSON.stringify(told));
}
await browser.close();
