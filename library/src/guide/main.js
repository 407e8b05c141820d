/* The page: presses and keys come in, the screen follows, and where one is stays in the browser. */

(function () {
  const block = document.getElementById('data');
  const guide = JSON.parse(block.textContent);
  const KEY = 'coldwright guide: ' + block.getAttribute('data-key');
  const SETTINGS = 'coldwright guide';
  const find = id => document.getElementById(id);
  const stage = find('stage');

  const CHOICES = {
    voice: ['Read aloud', [['silent', 'silent'], ['slow', 'slowly'], ['even', 'evenly'], ['fast', 'fast']]],
    screen: ['Screen', [['device', 'as the tablet'], ['light', 'light'], ['dark', 'dark']]]
  };
  const RATES = { slow: 0.6, even: 0.9, fast: 1.3 };

  /* A browser may refuse to keep anything. */
  function keep(key, value) {
    try {
      if (value === null) localStorage.removeItem(key);
      else localStorage.setItem(key, JSON.stringify(value));
      return true;
    } catch (refused) {
      return false;
    }
  }
  function kept(key) {
    try {
      return JSON.parse(localStorage.getItem(key));
    } catch (refused) {
      return null;
    }
  }

  const settings = Object.assign({ voice: 'silent', screen: 'device' }, kept(SETTINGS));
  const left = kept(KEY);
  const keeps = keep(KEY, left);
  const work = new Work(guide, Object.assign(beginning(), left));
  let paused = work.isBegun() && !work.isDone() && !work.isAsking();

  function say(text) {
    find('voice').textContent = text;
    const speech = window.speechSynthesis;
    if (!speech) return;
    speech.cancel();
    if (settings.voice === 'silent') return;
    const utterance = new SpeechSynthesisUtterance(text);
    utterance.lang = 'en';
    utterance.rate = RATES[settings.voice];
    speech.speak(utterance);
  }

  function show(parts, words) {
    stage.innerHTML = '';
    parts.forEach(part => stage.appendChild(part));
    say(words);
  }

  function draw() {
    const where = work.where;
    const count = work.actions().length;
    const place = find('place');
    find('back').disabled = paused || where.at < 0;
    find('on').disabled = work.isDone() || work.isAsking();
    find('on').textContent = where.slip && !paused ? 'Mend it' : 'Go on';
    place.textContent = '';
    if (paused) {
      show(resumeView(work, goOn, anew), 'You left off. Go on from there, or begin anew.');
    } else if (work.isAsking()) {
      const asked = work.asked();
      place.textContent = 'It does not go as shown, question ' + where.asked.length;
      show(askView(work, answer, leave, anew), plain((asked && asked.ask) || 'What it may be.'));
    } else if (!work.isBegun()) {
      place.textContent = 'Cautions';
      show(cautionView(work, choose), 'Read the cautions first.');
      if (!keeps) stage.appendChild(el('p', {}, ['This browser keeps nothing: where you are is lost when the page is closed.']));
    } else if (work.isDone()) {
      show(doneView(work, anew, ask), 'That was the last step.');
    } else {
      place.textContent = guide.ways[where.way].parts[work.action().part] + ', step ' + (where.at - where.behind + 1) + ' of ' + count;
      drawStep();
    }
    tick();
  }

  function drawStep() {
    if (work.isBehind()) {
      show([actionView(work), el('div', { class: 'choices' }, [choice('Do this step again, and go on from it', again)])],
        'Back. ' + spoken(work));
    } else if (work.where.slip) {
      show(slipView(work, goBack, deposit), slipWords(work.slip(), guide.bytes));
    } else {
      show([actionView(work, tap, none, ask)], spoken(work));
    }
  }

  /* The clock of a tape that runs, and how long it still has to. */
  function tick() {
    const tape = work.where.tape;
    let words = '';
    if (tape) {
      const ran = (Date.now() - tape.at) / 1000;
      const stop = work.actions().slice(Math.max(0, work.where.at)).find(action => action.clock && action.clock !== 'starts');
      const whole = stop && stop.clock.stops;
      words = 'Tape ' + clockWords(ran);
      if (whole) words += ran < whole ? ', read in ' + clockWords(whole - ran + 1) : ', should be read: stop it';
    }
    if (find('clock').textContent !== words) find('clock').textContent = words;
  }

  function changed() {
    keep(KEY, work.isBegun() && (!work.isDone() || work.isAsking()) ? work.where : null);
    draw();
  }

  function goOn() {
    if (paused) {
      paused = false;
      work.resume();
    } else if (!work.goOn()) {
      if (work.asks()) say('Tap the lamps that are lit, or None is lit.');
      return;
    }
    changed();
    window.scrollTo(0, 0);
  }
  function goBack() {
    if (!paused && work.goBack()) changed();
  }
  function again() {
    work.again();
    changed();
  }
  function deposit() {
    work.depositFrom();
    changed();
  }
  function ask() {
    work.ask();
    changed();
    window.scrollTo(0, 0);
  }
  function answer(place) {
    work.answer(place);
    changed();
    window.scrollTo(0, 0);
  }
  function leave() {
    work.leave();
    changed();
  }
  function anew() {
    paused = false;
    work.where = Object.assign(beginning(), { way: work.where.way });
    changed();
  }
  function choose(way) {
    work.where = Object.assign(beginning(), { way: way });
    changed();
  }
  function tap(bit, event) {
    work.tap(bit);
    toldLamps();
    /* A finger leaves no focus behind, so that the next press goes on; a key does. */
    const button = stage.querySelector('[data-lamp="' + bit + '"]');
    if (event && event.detail === 0 && button) button.focus();
  }
  function none() {
    work.none();
    goOn();
  }
  function toldLamps() {
    keep(KEY, work.where);
    const old = stage.querySelector('.lamps');
    if (old) old.parentNode.replaceChild(lampButtons(work, tap), old);
  }

  function pressed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    /* A pedal that is held goes on once. */
    if (event.repeat) return event.preventDefault();
    const target = event.target;
    const isControl = target && /^(BUTTON|INPUT|SELECT)$/.test(target.tagName);
    const key = event.key;
    if (isControl && (target.tagName !== 'BUTTON' || key === ' ' || key === 'Enter')) return;
    if ([' ', 'Enter', 'ArrowRight', 'ArrowDown', 'PageDown'].indexOf(key) >= 0) goOn();
    else if (['Backspace', 'ArrowLeft', 'ArrowUp', 'PageUp'].indexOf(key) >= 0) goBack();
    else if (/^[0-7]$/.test(key) && work.asks() && !work.where.slip && !paused) tap(Number(key));
    else if (key === 'n' && work.asks() && !work.where.slip && !paused) none();
    else return;
    event.preventDefault();
  }

  function setScreen() {
    const asks = window.matchMedia && window.matchMedia('(prefers-color-scheme: dark)').matches;
    document.body.className = settings.screen === 'dark' || (settings.screen === 'device' && asks) ? 'dark' : '';
  }

  function fillSettings() {
    const fields = Object.keys(CHOICES).map(name => el('fieldset', {}, [el('legend', {}, [CHOICES[name][0]])].concat(
      CHOICES[name][1].map(pair => {
        const input = el('input', { type: 'radio', name: name, value: pair[0] });
        input.checked = settings[name] === pair[0];
        input.addEventListener('change', () => {
          settings[name] = pair[0];
          keep(SETTINGS, settings);
          setScreen();
          if (name === 'voice') say(find('voice').textContent);
        });
        return el('label', {}, [input, ' ' + pair[1]]);
      }))));
    fields.push(el('p', {}, ['Go on: space bar, Enter, right, down or page down. Back: Backspace, left, up or page up. ' +
      'At a check: 7 to 0 for the lamps, n for none. A foot pedal that sends one of these keys will do.']),
    choice('Begin anew', () => {
      toggle();
      anew();
    }));
    fields.forEach(field => find('settings').appendChild(field));
  }
  function toggle() {
    const hidden = !find('settings').hidden;
    find('settings').hidden = hidden;
    find('menu').setAttribute('aria-expanded', String(!hidden));
  }

  fillSettings();
  setScreen();
  find('menu').addEventListener('click', toggle);
  find('on').addEventListener('click', goOn);
  find('back').addEventListener('click', goBack);
  document.addEventListener('keydown', pressed);
  /* Anywhere on the stage is as good as the button, but for what is to be tapped itself. */
  stage.addEventListener('click', event => {
    let at = event.target;
    while (at && at !== stage && at.tagName !== 'BUTTON') at = at.parentNode;
    const isStep = work.isBegun() && !work.isDone() && !paused && !work.asks() && !work.where.slip && !work.isBehind() && !work.isAsking();
    if (at === stage && isStep) goOn();
  });
  setInterval(tick, 500);
  draw();
}());
