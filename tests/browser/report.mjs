// The page of thinair report, as a browser shows it.
// usage: report.mjs THINAIR COURSES
//
// Contrast: WCAG 2.1, success criterion 1.4.3 and the definition of contrast ratio.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const [thinair, courses] = process.argv.slice(2);
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'thinair-page-'));
const hostile = '</script><img src=x onerror=alert(1)>';
let browser;

function report(name, event, ...options) {
  const file = path.join(folder, name + '.html');
  execFileSync(thinair, ['report', event, '-o', file, ...options], { stdio: ['ignore', 'ignore', 'inherit'] });
  return pathToFileURL(file).href;
}

function rewrite(event, file, from, to) {
  const text = fs.readFileSync(path.join(event, file), 'utf8');
  assert.match(text, from);
  fs.writeFileSync(path.join(event, file), text.replace(from, to));
}

function copyOfDemo(name) {
  const event = path.join(folder, name);
  fs.cpSync(path.join(courses, 'tolvane-dome'), event, { recursive: true });
  return event;
}

// The demo event with a controller of 32 x 32 breakpoints.
function largeTableEvent() {
  const event = copyOfDemo('large');
  const axis = (from, to, unit) => '[' + Array.from({ length: 32 }, (_, i) => `${(from + (to - from) * i / 31).toFixed(2)} ${unit}`).join(', ') + ']';
  rewrite(event, 'car.yaml', /^control: *\{?/m, (found) => `${found}${found.endsWith('{') ? '' : '\n  '}speed_axis: ${axis(3000, 7600, 'rpm')}${found.endsWith('{') ? ', ' : '\n  '}pressure_axis: ${axis(57, 90, 'kPa')}${found.endsWith('{') ? ', ' : ''}`);
  return event;
}

// The demo event under names that would break out of any place that forgot to escape.
function hostileEvent() {
  const event = copyOfDemo('hostile');
  rewrite(event, 'event.yaml', /^event:.*$/m, `event: '${hostile}'`);
  rewrite(event, 'car.yaml', /^car:.*$/m, `car: '"><svg onload=alert(2)>'`);
  rewrite(event, 'course.yaml', /\bGoat Fold\b/, `"</script><script>alert(3)</script>"`);
  return event;
}

// The demo event with a place whose name nothing breaks.
function longNameEvent() {
  const event = copyOfDemo('long');
  rewrite(event, 'course.yaml', /\bGoat Fold\b/, 'x'.repeat(60));
  rewrite(event, 'course.yaml', /\bSummit\b/, 'y'.repeat(60));
  return event;
}

const pages = {};

before(async () => {
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', chromiumSandbox: false });
  const demo = path.join(courses, 'tolvane-dome');
  pages.demo = report('demo', demo);
  pages.us = report('us', path.join(courses, 'red-lantern-canyon'), '--units', 'us');
  pages.clear = report('clear', demo, '--map', '121.3 kPa');
  pages.hold = report('hold', demo, '--set', 'car.control.minimum_boost=1.5 bar');
  pages.large = report('large', largeTableEvent());
  pages.hostile = report('hostile', hostileEvent());
  pages.long = report('long', longNameEvent());
});

after(async () => {
  await browser?.close();
  fs.rmSync(folder, { recursive: true, force: true });
});

// Opens a page; whatever it says, asks for or pops up ends in `trouble`.
async function open(t, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1200, height: 800 }, ...options });
  t.after(() => context.close());
  const page = await context.newPage();
  page.trouble = [];
  page.on('console', (message) => page.trouble.push(`console: ${message.text()}`));
  page.on('pageerror', (error) => page.trouble.push(`error: ${error.message}`));
  page.on('dialog', (dialog) => { page.trouble.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
  page.on('request', (request) => { if (request.url() !== url) page.trouble.push(`request: ${request.url()}`); });
  page.on('requestfailed', (request) => page.trouble.push(`failed: ${request.url()}`));
  await page.goto(url);
  return page;
}

const visible = (page, selector) => page.locator(selector).filter({ visible: true });

// The trace and what the visible drawings show of it.
function state(page) {
  return page.evaluate(() => {
    const data = JSON.parse(document.getElementById('trace').textContent);
    const seen = (e) => e.getClientRects().length > 0;
    const middle = (e) => { const r = e.getBoundingClientRect(); return { x: r.x + r.width / 2, y: r.y + r.height / 2 }; };
    const drawing = (name) => [...document.querySelectorAll(`figure.${name} svg`)].find(seen);
    // of a data point, in pixels of the window, from what the drawing says of its axes
    const pixel = (svg, x, y) => {
      const d = svg.querySelector('.ta-plot').dataset, at = svg.createSVGPoint();
      at.x = +d.left + (x - d.x0) / (d.x1 - d.x0) * (d.right - d.left);
      at.y = +d.bottom - (y - d.y0) / (d.y1 - d.y0) * (d.bottom - d.top);
      const p = at.matrixTransform(svg.getScreenCTM());
      return { x: p.x, y: p.y };
    };
    const i = +document.getElementById('cursor').value, course = drawing('course'), map = drawing('compressor');
    return {
      i, last: data.x.length - 1,
      place: document.getElementById('place').textContent, wantedPlace: data.place[i],
      shaft: document.querySelector('.readout .of-target[data-key=shaft]').textContent, wantedShaft: data.target.shaft[i],
      line: middle(course.querySelector('.cursor')).x, wantedLine: pixel(course, data.x[i], 0).x,
      spot: middle(map.querySelector('.spot.of-target')), wantedSpot: pixel(map, data.target.x[i], data.target.y[i]),
      capSpot: middle(map.querySelector('.spot.of-cap')), wantedCapSpot: pixel(map, data.cap.x[i], data.cap.y[i]),
      spots: [0, 0.3, 0.6].map((share) => pixel(map, ...['x', 'y'].map((k) => data.target[k][Math.round(share * (data.x.length - 1))]))),
      valueText: document.getElementById('cursor').getAttribute('aria-valuetext'),
    };
  });
}

function agrees(s) {
  const near = (a, b, what) => assert.ok(Math.abs(a - b) < 0.75, `${what}: ${a}, wanted ${b}`);
  assert.equal(s.place, s.wantedPlace);
  assert.equal(s.shaft, s.wantedShaft);
  near(s.line, s.wantedLine, 'cursor');
  for (const k of ['x', 'y']) {
    near(s.spot[k], s.wantedSpot[k], 'spot at the target');
    near(s.capSpot[k], s.wantedCapSpot[k], 'spot under the cap');
  }
  assert.ok(s.valueText.startsWith(s.place) && s.valueText.includes(s.shaft), s.valueText);
}

for (const name of ['demo', 'us', 'clear', 'hold', 'large', 'hostile'])
  test(`${name}: nothing is loaded, nothing complains`, async (t) => {
    const page = await open(t, pages[name]);
    await page.waitForTimeout(200);
    assert.deepEqual(page.trouble, []);
  });

test('what the policy does not name does not run', async (t) => {
  const page = await open(t, pages.demo);
  const ran = await page.evaluate(() => {
    const script = document.createElement('script'), style = document.createElement('style');
    script.textContent = 'window.ran = true';
    style.textContent = 'body{visibility:hidden}';
    document.body.append(script, style);
    document.body.insertAdjacentHTML('beforeend', '<img src="https://invalid.invalid/a.png">');
    return { ran: window.ran === true, hidden: getComputedStyle(document.body).visibility };
  });
  await page.waitForTimeout(200);
  assert.deepEqual(ran, { ran: false, hidden: 'visible' });
  for (const directive of ['script-src', 'style-src', 'default-src'])
    assert.ok(page.trouble.some((line) => line.includes(directive)), directive);
});

test('a hostile name is text', async (t) => {
  const page = await open(t, pages.hostile);
  assert.equal(await page.title(), hostile);
  assert.ok((await page.locator('h1').textContent()).startsWith(`${hostile}, "><svg onload=alert(2)>`));
  assert.equal(await page.locator('img, iframe, object, link').count(), 0);
  assert.equal(await page.locator('script').count(), 2);
  assert.ok((await page.locator('.facts, .strip, figure').allTextContents()).join('').includes('</script><script>alert(3)</script>'));
  await page.locator('#cursor').focus();
  await page.keyboard.press('Home');
  assert.match((await state(page)).place, /^0\.0 km/);
  assert.deepEqual(page.trouble, []);
});

for (const width of [1200, 900, 390])
  test(`${width} px: cursor on the course, point on the compressor map`, async (t) => {
    const page = await open(t, pages.demo, { viewport: { width, height: 1500 } });
    const start = await state(page);
    agrees(start);
    assert.equal(start.i, start.last, 'it begins at the worst place, the summit');
    const seen = new Set([start.i]);
    const course = visible(page, 'figure.course svg'), map = visible(page, 'figure.compressor svg');
    for (const share of [0.31, 0.77]) {
      await course.evaluate((e) => e.scrollIntoView({ block: 'center' }));
      const box = await course.boundingBox();
      await page.mouse.move(box.x + share * box.width, box.y + 0.5 * box.height);
      const s = await state(page);
      agrees(s);
      assert.ok(Math.abs(s.line - (box.x + share * box.width)) < 2, 'the cursor is under the pointer');
      seen.add(s.i);
    }
    await map.evaluate((e) => e.scrollIntoView({ block: 'center' }));
    for (const at of (await state(page)).spots) {
      await page.mouse.move(at.x, at.y);
      const s = await state(page);
      agrees(s);
      assert.ok(Math.hypot(s.spot.x - at.x, s.spot.y - at.y) < 8 || Math.hypot(s.capSpot.x - at.x, s.capSpot.y - at.y) < 8,
        'a point is under the pointer');
      seen.add(s.i);
    }
    assert.ok(seen.size >= 5, `it moved: ${[...seen]}`);
    assert.deepEqual(page.trouble, []);
  });

for (const name of ['demo', 'us'])
  test(`${name}: at the worst place the point stands on the picture's own`, async (t) => {
    const page = await open(t, pages[name], { viewport: { width: 1200, height: 1500 } });
    const apart = await page.evaluate(() => {
      const map = [...document.querySelectorAll('figure.compressor svg')].find((e) => e.getClientRects().length > 0);
      const middle = (e) => { const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; };
      const [x, y] = middle(map.querySelector('.spot.of-target'));
      return Math.min(...[...map.querySelectorAll('[id$="-worst"] path')].map((e) => Math.hypot(middle(e)[0] - x, middle(e)[1] - y)));
    });
    assert.ok(apart < 3, `${apart} px apart`);
  });

for (const name of ['demo', 'us'])
  test(`${name}: the points stand on the picture's paths`, async (t) => {
    const page = await open(t, pages[name], { viewport: { width: 1200, height: 1500 } });
    const far = [];
    for (const share of [0.5, 0.61, 0.73, 0.84, 0.93, 1]) {
      await page.evaluate((s) => {
        const slider = document.getElementById('cursor');
        slider.value = Math.round(s * slider.max);
        slider.dispatchEvent(new Event('input'));
      }, share);
      const apart = await page.evaluate(() => {
        const map = [...document.querySelectorAll('figure.compressor svg')].find((e) => e.getClientRects().length > 0);
        const at = (way) => map.querySelector(`.spot.of-${way}`).transform.baseVal.consolidate().matrix;
        const to = (spot, parts) => Math.min(...parts.flatMap((part) => [...map.querySelectorAll(`[id$="-${part}"] path, [id$="-${part}"] polyline`)]).flatMap((path) =>
          Array.from({ length: 2000 }, (_, i) => { const p = path.getPointAtLength(path.getTotalLength() * i / 1999); return Math.hypot(p.x - spot.e, p.y - spot.f); })));
        return { target: to(at('target'), ['target', 'estimate']), cap: to(at('cap'), ['capped', 'target', 'estimate']) };
      });
      for (const way of ['target', 'cap']) if (!(apart[way] < 2)) far.push(`${share} ${way}: ${apart[way]} px`);
    }
    assert.deepEqual(far, []);
  });

test('the cursor moves by keyboard', async (t) => {
  const page = await open(t, pages.demo);
  for (let i = 0; i < 30 && await page.evaluate(() => document.activeElement.id) !== 'cursor'; i++)
    await page.keyboard.press('Tab');
  const keys = [['Home', (s) => 0], ['ArrowRight', (s) => s.i + 1], ['ArrowUp', (s) => s.i + 1],
    ['PageUp', (s) => null], ['ArrowLeft', (s) => s.i - 1], ['End', (s) => s.last]];
  for (const [key, wanted] of keys) {
    const was = await state(page);
    await page.keyboard.press(key);
    const now = await state(page);
    agrees(now);
    if (wanted(was) !== null) assert.equal(now.i, wanted(was), key);
    else assert.ok(now.i > was.i + 10, key);
  }
});

const drawn = (page, selector) => page.evaluate((s) =>
  [...document.querySelectorAll(s)].filter((e) => getComputedStyle(e).display !== 'none').length, selector);

for (const javaScriptEnabled of [true, false])
  test(`a way to run is switched off and on, ${javaScriptEnabled ? 'with' : 'without'} scripts`, async (t) => {
    const page = await open(t, pages.demo, { javaScriptEnabled });
    const parts = { target: ['.pair .ta-shaft-at-target', '.pair .ta-over-limit'], cap: ['.pair .ta-shaft-under-cap'] };
    const readouts = (way) => page.locator(`.readout dd.of-${way}`).filter({ visible: true }).count();
    const display = (selector) => page.locator(selector).first().evaluate((e) => getComputedStyle(e).display);
    for (const way of ['target', 'cap']) {
      const label = page.locator(`label[for=show-${way}]`);
      for (const part of parts[way]) assert.notEqual(await display(part), 'none', part);
      await label.click();
      for (const part of parts[way]) assert.equal(await display(part), 'none', part);
      assert.equal(await readouts(way), 0);
      await page.locator(`#show-${way}`).focus();
      await page.keyboard.press('Space');
      for (const part of parts[way]) assert.notEqual(await display(part), 'none', part);
      assert.equal(await readouts(way), javaScriptEnabled ? 6 : 0);
    }
  });

// Texts of the linked drawings that are seen, but for their headlines.
const lettered = (page) => page.evaluate(() => [...document.querySelectorAll('.pair svg text')]
  .filter((e) => e.getClientRects().length > 0 && e.getAttribute('font-weight') !== 'bold').map((e) => e.textContent));

for (const name of ['demo', 'us'])
  for (const width of [1200, 390])
    test(`${name}, ${width} px: what names the target goes with it`, async (t) => {
      const page = await open(t, pages[name], { viewport: { width, height: 900 } });
      const of = { target: /full target|over from|over$|^over the limit$|worst:|% of rated|(?<!past the map: an )estimate/, cap: /capped|^table/ };
      const before = await lettered(page);
      for (const way of ['target', 'cap']) {
        assert.ok(before.some((text) => of[way].test(text)), before.join('; '));
        await page.locator(`label[for=show-${way}]`).click();
        assert.deepEqual((await lettered(page)).filter((text) => of[way].test(text)), []);
        await page.locator(`label[for=show-${way}]`).click();
        assert.deepEqual(await lettered(page), before);
      }
    });

// Everything seen that is too wide, too small or too pale.
function faults(page) {
  return page.evaluate(() => {
    const found = [], width = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > width) found.push(`scrolls sideways: ${document.documentElement.scrollWidth} px`);
    const channels = (colour) => (colour.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number);
    const luminance = (colour) => {
      const [r, g, b] = channels(colour).map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const contrast = (a, b) => { const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
    const ground = (e) => {
      for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor; if (channels(c)[3] !== 0 || channels(c).length === 3) return c; }
      return 'rgb(255, 255, 255)';
    };
    document.querySelectorAll('details').forEach((e) => { e.open = true; });
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const node = walker.currentNode, e = node.parentElement, style = getComputedStyle(e);
      const range = document.createRange();
      range.selectNodeContents(node);
      const box = range.getBoundingClientRect(), text = node.textContent.trim();
      if (text === '' || box.width === 0 || style.visibility === 'hidden' || e.closest('table:not(.controller) thead, title, desc, script')) continue;
      const svg = e.closest('svg'), scale = svg ? svg.getScreenCTM().a : 1;
      const size = scale * parseFloat(style.fontSize);
      if (size < 10.99) found.push(`${size.toFixed(2)} px: ${text}`);
      if ((box.right > width + 0.5 || box.left < -0.5) && !e.closest('.scrolls')) found.push(`stands out at ${box.left} to ${box.right}: ${text}`);
      if (svg && e.closest('figure.table')) continue; // numbers on a coloured cell: tests/report/test_svg.c
      const ratio = contrast(svg ? style.fill : style.color, ground(e));
      if (ratio < 4.5) found.push(`contrast ${ratio.toFixed(2)}: ${text}`);
      const before = getComputedStyle(e, '::before');
      if (before.content !== 'none' && parseFloat(before.fontSize) < 11) found.push(`${before.fontSize} before ${text}`);
    }
    return found;
  });
}

for (const name of ['demo', 'us', 'clear', 'hold', 'large', 'hostile', 'long'])
  for (const [width, colorScheme] of [[390, 'light'], [1200, 'dark'], [390, 'dark'], [819, 'light'], [820, 'dark'], [1200, 'light'], [1600, 'light']]
    .slice(0, ['demo', 'large'].includes(name) ? 7 : 2))
    test(`${name}, ${width} px, ${colorScheme}: it fits and can be read`, async (t) => {
      const page = await open(t, pages[name], { viewport: { width, height: 844 }, colorScheme });
      assert.deepEqual(await faults(page), []);
      const paper = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
      assert.equal(paper === 'rgb(255, 255, 255)', colorScheme === 'light', paper);
      const shapes = await page.evaluate(() => ['wide', 'narrow'].map((s) => getComputedStyle(document.querySelector('.' + s)).display !== 'none'));
      assert.deepEqual(shapes, [width >= 1200, width < 1200]);
    });

for (const [name, count] of [['demo', 8], ['large', 32]])
  for (const width of [390, 1200])
    test(`${name}, ${width} px: every number of the controller's table stands under its engine speed`, async (t) => {
      const page = await open(t, pages[name], { viewport: { width, height: 844 } });
      const table = await page.evaluate(() => {
        const middle = (e) => { const r = e.getBoundingClientRect(); return r.right - 0.5 * r.width; };
        const heads = [...document.querySelectorAll('.controller thead > tr > *')], rows = [...document.querySelectorAll('.controller tbody tr')];
        return {
          heads: heads.map((e) => e.innerText.replace(/\s+/g, ' ')), rows: rows.length,
          hidden: rows.flatMap((row) => [...row.children]).filter((e) => e.getClientRects().length === 0 || !/^-?[\d.,]+$/.test(e.innerText)).length,
          askew: rows.flatMap((row) => [...row.children].map((e, i) => Math.abs(middle(e) - middle(heads[i])))).filter((d) => d > 1).length,
        };
      });
      assert.equal(table.rows, count);
      assert.equal(table.heads.filter((head) => head.endsWith(' rpm')).length, count);
      assert.match(table.heads[0], /^ambient kPa/);
      assert.match(table.heads[1], /^elevation m/);
      assert.equal(table.hidden, 0);
      assert.equal(table.askew, 0);
      // each can be brought into sight beside its row's head
      const last = page.locator('.controller tbody tr:last-child > *').last();
      await last.scrollIntoViewIfNeeded();
      const box = await last.boundingBox(), head = await page.locator('.controller tbody tr:last-child > th').boundingBox();
      assert.ok(head.x >= 0 && head.x + head.width <= box.x + 0.5 && box.x + box.width <= width, JSON.stringify([head, box]));
    });

test('without scripts all of it is there', async (t) => {
  const texts = [];
  for (const javaScriptEnabled of [true, false]) {
    const page = await open(t, pages.demo, { javaScriptEnabled });
    const sections = page.locator('main > *');
    const parts = [];
    for (let i = 0; i < await sections.count(); i++) parts.push(await sections.nth(i).innerText());
    texts.push(parts.join('\n'));
    assert.equal(await visible(page, '.readout').count(), javaScriptEnabled ? 1 : 0);
    assert.equal(await visible(page, 'figure svg').count(), 6);
    assert.deepEqual(page.trouble, []);
  }
  const lines = (text) => new Set(text.split('\n').map((line) => line.trim()).filter(Boolean));
  const plain = lines(texts[1]);
  assert.ok(plain.size > 100);
  for (const word of ['OVER THE LIMIT', 'What to run', 'What goes into the controller', 'Run card', 'Cautions']) assert.ok(texts[1].includes(word), word);
  const readout = /^(Cursor .*|shaft rpm|of limit %|MAP set kPa|engine rpm|corrected flow kg\/min|pressure ratio|[\d,.]+)$/;
  assert.deepEqual([...lines(texts[0])].filter((line) => !plain.has(line) && !readout.test(line)), []);
});

for (const [name, has] of [['demo', true], ['hostile', true], ['hold', false]])
  for (const format of ['A4', 'Letter'])
    test(`${name} on ${format}: the run card and nothing else, or what stands against it, on one page`, async (t) => {
      const page = await open(t, pages[name]);
      const pdf = (await page.pdf({ format })).toString('latin1');
      assert.equal((pdf.match(/\/Type\s*\/Page\b(?!s)/g) || []).length, 1);
      await page.emulateMedia({ media: 'print' });
      const shown = await page.evaluate(() => [...document.querySelectorAll('main > *')]
        .filter((e) => getComputedStyle(e).display !== 'none').map((e) => e.innerText.trim()));
      if (has) {
        assert.equal(shown.length, 1);
        assert.equal(shown[0], (await page.locator('.card pre').textContent()).trim());
        assert.match(shown[0], /ALARM.*NEVER ABOVE/);
        // 12 mm of margin on each side of Letter's height and of A4's width, at 96 px to the inch
        await page.setViewportSize({ width: Math.floor((210 - 24) / 25.4 * 96), height: 900 });
        const box = await page.locator('.card pre').evaluate((e) => ({ wide: e.scrollWidth, room: e.clientWidth, high: e.scrollHeight, size: parseFloat(getComputedStyle(e).fontSize) }));
        assert.ok(box.wide <= box.room, `${box.wide} px wide`);
        assert.ok(box.high <= (279.4 - 24) / 25.4 * 96, `${box.high} px high`);
        assert.ok(box.size >= 12, `letters of ${box.size} px`);
      } else {
        const wanted = [/^Tolvane Dome Hill Climb, car 41/, /^OVER THE LIMIT/, /^Run card\s+No run card: .*spring/, /^Cautions\s[^]*a burst wheel can kill/];
        assert.equal(shown.length, wanted.length);
        wanted.forEach((words, i) => assert.match(shown[i], words));
        assert.match(shown[1], /softer spring/);
      }
    });

test('it can be walked by a screen reader', async (t) => {
  const page = await open(t, pages.demo);
  const found = await page.evaluate(() => {
    const wrong = [];
    let level = 0;
    document.querySelectorAll('h1,h2,h3,h4').forEach((e) => {
      const now = Number(e.tagName[1]);
      if (now > level + 1 || (now === 1) !== (level === 0)) wrong.push(`heading ${e.tagName} ${e.textContent}`);
      level = now;
      if (e.textContent.trim() === '') wrong.push('empty heading');
    });
    document.querySelectorAll('table, figure').forEach((e) => {
      const name = e.querySelector('caption') || document.getElementById(e.getAttribute('aria-labelledby'));
      if (!name?.textContent.trim()) wrong.push(`no name: ${e.tagName} ${e.className}`);
    });
    document.querySelectorAll('table').forEach((table) => {
      if (!table.querySelector('th[scope=col]')) wrong.push(`no column headers: ${table.className}`);
      table.querySelectorAll('tbody tr').forEach((tr) => { if (!tr.querySelector('th[scope=row]')) wrong.push('no row header'); });
    });
    document.querySelectorAll('input').forEach((e) => { if (!document.querySelector(`label[for=${e.id}]`)) wrong.push(`no label: ${e.id}`); });
    document.querySelectorAll('svg').forEach((e) => {
      const named = (e.getAttribute('aria-labelledby') || '').split(' ').every((id) => document.getElementById(id)?.textContent.trim());
      if (!named) wrong.push('drawing without a name');
    });
    const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
    ids.forEach((id, i) => { if (ids.indexOf(id) !== i) wrong.push(`id twice: ${id}`); });
    if (!document.documentElement.lang) wrong.push('no language');
    return wrong;
  });
  assert.deepEqual(found, []);
});
