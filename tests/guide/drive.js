/* A person at a machine: does what the page shows and nothing else, and tells what the lamps show. `PLAN` says how presses are made,
   where the hand slips, and after which press the lid is closed. Levers and keys are read off the screen, not out of the data. */
(function () {
  const kept = sessionStorage.getItem('machine');
  const machine = kept ? JSON.parse(kept) : {
    memory: {}, levers: { address: 0, data: 0, sense: 0 }, at: 0, log: [], presses: 0, deposits: 0, reloaded: false, looked: false, wrong: ''
  };
  const panel = JSON.parse(document.getElementById('data').textContent).pictures;
  const find = one => document.querySelector(one);
  const text = () => find('#stage').textContent;

  window.onerror = message => { machine.log.push('error ' + message); };

  /** Moves the levers that are set off, and finds them all as drawn then. */
  function hand() {
    const svg = find('#stage svg.levers');
    if (!svg) return;
    const uses = [].slice.call(svg.querySelectorAll('use'));
    const name = bankOf(uses.length);
    const bank = panel[name];
    uses.forEach((use, at) => {
      const mark = 1 << (bank.lowest + bank.count - 1 - at);
      const look = use.getAttribute('xlink:href').slice(-2);
      const stands = (machine.levers[bank.on] & mark) !== 0;
      const up = look[0] === '1';
      if (look[1] === '1') machine.levers[bank.on] = up ? machine.levers[bank.on] | mark : machine.levers[bank.on] & ~mark;
      else if (stands !== up) machine.wrong = 'lever ' + at + ' stands otherwise at ' + find('#place').textContent;
    });
  }
  function bankOf(count) {
    if (/sense switches/.test(text())) return 'sense';
    const numbers = [].map.call(find('#stage svg.levers').querySelectorAll('text'), one => one.textContent);
    return count === panel.address.count && (count > 8 || !find('#stage small')) ? 'address' : numbers[0] === '15' ? 'sense' : 'data';
  }

  function key() {
    const label = find('#stage .key');
    if (!label) return;
    const address = machine.levers.address;
    const data = panel.data.on === 'address' ? address & 255 : machine.levers.data;
    switch (label.textContent) {
      case 'EXAMINE': machine.at = address; break;
      case 'EXAMINE NEXT': machine.at = machine.at + 1 & 0xffff; break;
      case 'DEPOSIT NEXT': machine.at = machine.at + 1 & 0xffff; deposit(data); break;
      case 'DEPOSIT': deposit(data); break;
      default: machine.wrong = 'no key ' + label.textContent;
    }
  }
  function deposit(byte) {
    machine.deposits++;
    machine.memory[machine.at] = machine.deposits === PLAN.slipAt ? byte ^ PLAN.slip : byte;
  }

  function press(name) {
    machine.presses++;
    if (PLAN.taps) (name === 'PageDown' ? find('#on') : find('#back')).click();
    else document.body.dispatchEvent(new KeyboardEvent('keydown', { key: name, bubbles: true, cancelable: true }));
  }
  function lamps() {
    const byte = machine.memory[machine.at] === undefined ? 0o125 : machine.memory[machine.at];
    for (let bit = 7; bit >= 0; bit--) {
      if (!(byte >> bit & 1)) continue;
      if (PLAN.taps) find('[data-lamp="' + bit + '"]').click();
      else document.body.dispatchEvent(new KeyboardEvent('keydown', { key: String(bit), bubbles: true, cancelable: true }));
    }
    if (byte) press('PageDown');
    else if (PLAN.taps) [].filter.call(document.querySelectorAll('#stage button'), one => /None/.test(one.textContent))[0].click();
    else document.body.dispatchEvent(new KeyboardEvent('keydown', { key: 'n', bubbles: true, cancelable: true }));
  }

  /** One press, or a way off the straight one: the lid is closed, or what was before is looked at. */
  function step() {
    if (machine.presses === PLAN.reloadAt && !machine.reloaded) {
      machine.reloaded = true;
      sessionStorage.setItem('machine', JSON.stringify(machine));
      location.reload();
      return 'gone';
    }
    if (/You left off/.test(text())) {
      machine.log.push('resumed');
      press('PageDown');
      return '';
    }
    if (/A byte is wrong/.test(text())) {
      machine.log.push(find('#stage .wrong').textContent);
      press('PageDown');
      return '';
    }
    if (/last step/.test(text())) return 'done';
    if (machine.presses === PLAN.lookAt && !machine.looked) {
      machine.looked = true;
      const before = find('#place').textContent;
      press('PageUp');
      press('PageUp');
      press('PageDown');
      press('PageDown');
      if (find('#place').textContent !== before) machine.wrong = 'looking back has moved on';
    }
    hand();
    key();
    if (find('#stage .lamps')) lamps();
    else press('PageDown');
    return '';
  }

  let end = '';
  for (let count = 0; count < 5000 && !end && !machine.wrong; count++) end = step();
  if (end === 'gone') return;
  const told = document.createElement('pre');
  told.id = 'told';
  const left = Object.keys(localStorage).filter(one => one.indexOf('coldwright guide: ') === 0 && localStorage.getItem(one) !== 'null');
  const result = { end: end, wrong: machine.wrong, log: machine.log, memory: machine.memory, presses: machine.presses, left: left.length };
  told.textContent = 'BEGIN' + JSON.stringify(result) + 'END';
  document.body.appendChild(told);
}());
