'use strict';
// Marks and place on a screen: no step is needed to read the page, and nothing here changes its words. What a mark is called comes
// from the page.
(function () {
  var bar = document.getElementById('marks');
  if (!bar) { return; }
  var words = bar.dataset;
  var say = function (text, a, b, c) { return text.replace('%1', a).replace('%2', b).replace('%3', c); };
  var field = function (id) {
    var found = document.querySelector('[data-field="' + id + '"]');
    return found ? found.textContent : '';
  };
  var digest = field('doc.content').replace(/\s/g, '');
  var place = 'marks ' + digest + ' ' + field('stamp.copy');
  var store = null;
  try {
    window.localStorage.setItem(place + ' try', '1');
    window.localStorage.removeItem(place + ' try');
    store = digest ? window.localStorage : null;
  } catch (e) { store = null; }
  var blank = function () { return { marks: {}, clear: {}, pass: {}, last: '' }; };
  var read = function () {
    try {
      var kept = JSON.parse(store.getItem(place));
      return kept.marks ? Object.assign(blank(), kept) : blank();
    } catch (e) { return blank(); }
  };
  var now = read();
  var keep = function () {
    if (!store) { return; }
    try { store.setItem(place, JSON.stringify(now)); } catch (e) { store = null; }
  };

  var make = function (tag, name, text) {
    var made = document.createElement(tag);
    if (name) { made.className = name; }
    if (text) { made.textContent = text; }
    return made;
  };
  var button = function (text, act, name) {
    var made = make('button', name, text);
    made.type = 'button';
    made.addEventListener('click', act);
    return made;
  };

  // Everything with a printed number: rows, boxes, arms, repeats, performed sections.
  var all = [];
  document.querySelectorAll('main [id]').forEach(function (node) {
    var own = node.querySelector('[data-field="' + node.id + '.number"]');
    if (!own) { return; }
    if (node.classList.contains('contingency')) { return; }
    var one = { node: node, id: node.id, number: own.textContent, kind: 'row' };
    if (node.matches('aside')) { one.kind = node.matches('.hold') ? 'hold' : 'box'; }
    if (node.matches('section')) { one.kind = node.matches('.inset') ? 'arm' : 'whole'; }
    if (one.kind === 'whole') {
      var most = node.querySelector('[data-field="' + node.id + '.most"]');
      one.most = most ? parseInt(most.textContent, 10) : 0;
    }
    one.home = node.closest('.contingency');
    all.push(one);
  });
  // What is marked after what stands in it comes behind that.
  var order = [];
  var open = [];
  var close = function (node) {
    while (open.length) {
      if (node) { if (open[open.length - 1].node.contains(node)) { return; } }
      order.push(open.pop());
    }
  };
  all.forEach(function (one) {
    one.around = all.filter(function (other) { return other === one ? false : other.node.contains(one.node); });
    close(one.node);
    if (one.kind === 'whole') { open.push(one); } else { order.push(one); }
  });
  close(null);
  var of = function (home) { return order.filter(function (one) { return one.home === home; }); };

  var suffix = function (around) {
    var out = '';
    around.forEach(function (outer) {
      if (outer.most) { out += (out ? '.' : '@') + (now.pass[outer.id + suffix(outer.around)] || 1); }
    });
    return out;
  };
  var key = function (one) { return one.id + suffix(one.around); };
  var mark = function (one) { return (now.marks[key(one)] || [''])[0]; };
  var struck = function (one) { return one.around.some(function (outer) { return mark(outer) === 'na'; }); };
  var settled = function (one) {
    if (one.kind === 'hold') { if (now.clear[key(one)]) { return true; } }
    return mark(one) ? true : struck(one);
  };
  var stamp = function () {
    var d = new Date();
    var two = function (n) { return String(n).padStart(2, '0'); };
    return { time: two(d.getHours()) + ':' + two(d.getMinutes()), all: d.toISOString() };
  };

  // One question at a time.
  var dialog = make('dialog', 'ctl');
  var ask = function (text, yes, act, input) {
    dialog.textContent = '';
    var title = make('p', 'label', text);
    title.id = 'marks-ask';
    dialog.setAttribute('aria-labelledby', title.id);
    var form = make('form');
    form.method = 'dialog';
    form.append(title);
    if (input) { input.forEach(function (node) { form.append(node); }); }
    var row = make('div', 'buttons');
    var go = make('button', '', yes);
    go.type = 'submit';
    go.value = 'yes';
    row.append(go, button(words.leave, function () { dialog.close('no'); }));
    form.append(row);
    dialog.append(form);
    dialog.returnValue = 'no';
    // Until it is answered, nothing has changed.
    show();
    dialog.onclose = function () { if (dialog.returnValue === 'yes') { act(); } };
    dialog.showModal();
  };
  var turnTo = function (one) {
    var calm = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    if (one) { one.node.scrollIntoView({ block: 'center', behavior: calm ? 'auto' : 'smooth' }); }
  };
  var goTo = function (one) {
    turnTo(one);
    var box = one.node.querySelector('.ctl input, .ctl button');
    if (box) { box.focus({ preventScroll: true }); }
  };

  var put = function (one, what) {
    var at = key(one);
    if (what) {
      now.marks[at] = [what, stamp().all];
      now.last = one.id;
      if (one.kind === 'arm') {
        if (what === 'done') { arms(one).forEach(function (other) { now.marks[key(other)] = ['na', stamp().all]; }); }
      }
    } else { delete now.marks[at]; }
    keep();
    show();
    if (what) { turnTo(current()); }
  };
  // The other arms of a condition stand beside an arm.
  var arms = function (one) {
    var out = [];
    ['previousElementSibling', 'nextElementSibling'].forEach(function (way) {
      var node = one.node[way];
      while (node ? node.matches('section.inset[id]') : false) {
        out.push(all.find(function (other) { return other.node === node; }));
        node = node[way];
      }
    });
    return out.filter(Boolean);
  };
  var tick = function (one, what) {
    if (!what) { put(one, ''); return; }
    var before = of(one.home);
    before = before.slice(0, before.indexOf(one)).filter(function (other) { return settled(other) ? false : !one.around.includes(other); });
    var stop = before.find(function (other) { return other.kind === 'hold'; });
    if (stop) {
      ask(say(words.stop, stop.number), say(words.stopGo, stop.number), function () { goTo(stop); });
      return;
    }
    if (before.length) {
      ask(say(words.early, before[0].number, one.number), say(words.earlyYes, '', one.number), function () { put(one, what); });
      return;
    }
    put(one, what);
  };

  var clear = function (one) {
    var field = function (text, value) {
      var label = make('label', '', text);
      var input = make('input');
      input.required = true;
      input.value = value;
      input.maxLength = 80;
      label.append(input);
      return label;
    };
    var name = field(words.name, '');
    var time = field(words.time, stamp().time);
    var title = one.node.querySelector('h4').textContent;
    ask(title, words.keep, function () {
      now.clear[key(one)] = { name: name.lastChild.value.trim(), time: time.lastChild.value.trim(), at: stamp().all };
      now.last = one.id;
      keep();
      show();
      turnTo(current());
    }, [make('p', 'small', words.note), name, time]);
  };
  var cleared = function (one) {
    var before = of(one.home);
    var stop = before.slice(0, before.indexOf(one)).find(function (other) { return other.kind === 'hold' ? !settled(other) : false; });
    if (stop) { ask(say(words.stop, stop.number), say(words.stopGo, stop.number), function () { goTo(stop); }); return; }
    clear(one);
  };

  var check = function (text, name, act) {
    var label = make('label', 'box');
    var input = make('input');
    input.type = 'checkbox';
    input.setAttribute('aria-label', name);
    input.addEventListener('change', function () { act(input.checked); });
    label.append(input);
    if (text) { label.append(make('span', '', text)); }
    return label;
  };
  // Places of the controls, and what each shows.
  var shows = [];
  all.forEach(function (one) {
    var ctl = make('div', 'ctl');
    var named = function (text) { return text + ', ' + words.step + ' ' + one.number; };
    if (one.kind === 'hold') {
      var line = make('p', 'small');
      var enter = button(words.enter, function () { cleared(one); });
      var back = button(words.back, function () {
        ask(words.askBack, words.back, function () { delete now.clear[key(one)]; keep(); show(); });
      });
      enter.setAttribute('aria-label', named(words.enter));
      back.setAttribute('aria-label', named(words.back));
      ctl.append(line, enter, back);
      shows.push(function () {
        var note = now.clear[key(one)];
        line.textContent = note ? say(words.cleared, note.name, note.time) : words.note;
        enter.hidden = note ? true : struck(one);
        back.hidden = !note;
      });
    } else {
      var done = one.kind === 'arm' ? words.taken : words.done;
      // An arm has its boxes in its first line, with the words beside them.
      var spots = one.kind === 'arm' ? one.node.querySelectorAll(':scope > .lead .tick') : [];
      var boxes = [['done', done], ['na', words.na]].map(function (pair, n) {
        var spot = spots[n];
        var label = check(spot ? '' : pair[1], named(pair[1]), function (on) { tick(one, on ? pair[0] : ''); });
        if (spot) { label.classList.add('ctl'); spot.after(label); } else { ctl.append(label); }
        return [pair[0], label.firstChild];
      });
      shows.push(function () {
        boxes.forEach(function (pair) {
          pair[1].checked = pair[0] === 'na' ? (struck(one) ? true : mark(one) === 'na') : mark(one) === 'done';
          pair[1].disabled = struck(one);
        });
      });
    }
    if (one.most) {
      var group = make('div', 'passes');
      group.setAttribute('role', 'group');
      group.setAttribute('aria-label', named(words.passes));
      for (var n = 1; one.most >= n; n += 1) {
        (function (pass) {
          var choice = button(say(words.pass, pass), function () {
            now.pass[one.id + suffix(one.around)] = pass;
            keep();
            show();
          });
          shows.push(function () {
            choice.setAttribute('aria-pressed', String((now.pass[one.id + suffix(one.around)] || 1) === pass));
          });
          group.append(choice);
        }(n));
      }
      ctl.append(group);
    }
    var home = { row: '.sign', hold: 'div', box: 'div', arm: 'p.lead', whole: 'aside div' }[one.kind];
    var at = one.node.querySelector(':scope > ' + home.replace(' ', ' > ')) || one.node;
    if (ctl.hasChildNodes()) { at.append(ctl); }
    var flag = make('p', 'ctl here', words.now);
    flag.hidden = true;
    if (one.kind === 'row') { one.node.querySelector('.number').append(flag); } else if (one.kind === 'arm') { at.append(flag); } else { ctl.prepend(flag); }
    one.flag = flag;
  });
  // Boxes in lists and tables of read-outs.
  var counts = {};
  document.querySelectorAll('main .tick').forEach(function (box) {
    if (box.closest('.sign, p.lead')) { return; }
    var owner = box.closest('[id]').id;
    counts[owner] = (counts[owner] || 0) + 1;
    var line = box.closest('li, p');
    var one = { id: owner + '#' + counts[owner], around: [], kind: 'line' };
    one.around = all.filter(function (outer) { return outer.node.contains(box); });
    var label = check('', line.textContent.trim().replace(/\s+/g, ' '), function (on) {
      if (on) { now.marks[key(one)] = ['done', stamp().all]; } else { delete now.marks[key(one)]; }
      keep();
    });
    label.classList.add('ctl');
    line.classList.add('ticked');
    box.after(label);
    shows.push(function () { label.firstChild.checked = mark(one) === 'done'; });
  });

  var main = of(null);
  var current = function () {
    var last = all.find(function (one) { return one.id === now.last; });
    var open = function (list) { return list.find(function (one) { return !settled(one); }); };
    return (last ? open(of(last.home)) : null) || open(main);
  };
  // The bar.
  var state = bar.querySelector('.state');
  state.setAttribute('role', 'status');
  var next = button('', function () { var one = current(); if (one) { goTo(one); } });
  var save = button(words.save, function () {
    var list = Object.keys(now.marks).sort().map(function (at) { return { of: at, mark: now.marks[at][0], at: now.marks[at][1] }; });
    var file = {
      note: words.note, number: field('doc.number'), revision: field('doc.revision'), digest: digest, copy: field('stamp.copy'),
      saved: stamp().all, marks: list, clearances: now.clear, passes: now.pass
    };
    var link = make('a');
    link.href = URL.createObjectURL(new Blob([JSON.stringify(file, null, 1)], { type: 'application/json' }));
    link.download = say(words.file, file.number, file.revision, digest.slice(0, 8));
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 10000);
  });
  var wipe = button(words.clear, function () {
    ask(words.askClear, words.clear, function () { now = blank(); keep(); show(); });
  });
  var root = document.documentElement;
  var dark = window.matchMedia('(prefers-color-scheme: dark)');
  var look = button('', function () {
    root.dataset.look = isDark() ? 'light' : 'dark';
    try { window.localStorage.setItem('look', root.dataset.look); } catch (e) { return show(); }
    show();
  });
  var isDark = function () { return root.dataset.look ? root.dataset.look === 'dark' : dark.matches; };
  try { var chosen = window.localStorage.getItem('look'); if (chosen) { root.dataset.look = chosen; } } catch (e) { store = null; }
  dark.addEventListener('change', function () { show(); });
  var kept = make('p', 'small');
  var buttons = make('div', 'buttons ctl');
  buttons.append(next, save, wipe, look);
  bar.append(kept, buttons);
  document.body.append(dialog);
  root.classList.add('live');

  var show = function () {
    var here = current();
    all.forEach(function (one) {
      one.node.classList.toggle('now', one === here);
      one.flag.hidden = one !== here;
      if (one === here) { one.node.setAttribute('aria-current', 'step'); } else { one.node.removeAttribute('aria-current'); }
    });
    shows.forEach(function (each) { each(); });
    var done = main.filter(function (one) { return one.kind === 'hold' ? now.clear[key(one)] : mark(one) === 'done'; }).length;
    var na = main.filter(function (one) { return struck(one) ? true : mark(one) === 'na'; }).length;
    state.textContent = say(words.count, done, na, main.length);
    kept.textContent = store ? words.kept : words.unkept;
    next.textContent = here ? say(words.go, here.number) : words.all;
    next.disabled = !here;
    look.textContent = isDark() ? words.light : words.dark;
  };
  // Another window over the same copy.
  window.addEventListener('storage', function (e) { if (e.key === place) { now = read(); show(); } });
  show();
  // Back to where it was left.
  if (now.last) { var here = current(); if (here) { here.node.scrollIntoView({ block: 'center' }); } }
}());
