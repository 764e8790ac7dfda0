"""One example for each table of the reference, as it would be written in a file.

By kind of file and name of the part; the empty name is the file itself, and the five files together
are a small site. Each is held to its part of the schema in
``tests/settings/test_reference_examples.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

_SITE: Final = {
    "": """\
zone: Europe/Dublin
brokers:
  shed: {url: "mqtt://broker.club.example"}
printers:
  kestrel:
    reader: pieces
    broker: shed
    messages: {doing: alder/kestrel/doing, laid: alder/kestrel/laid}
controllers:
  door: {url: "http://door.club.example", dialect: bars, pixels: 150}
segments:
  door-frame: {on: door, number: 1, first: 0, length: 120, printers: [kestrel], table: wall}
  door-sill: {on: door, number: 2, first: 120, length: 30}
sets: {doorway: [door-frame, door-sill]}
buttons:
  lathe: {broker: shed, topic: alder/lathe/button, is: pressed, wishes: acknowledge}
resting: warm
off_watch: not-known""",
    "AccessKeys": "{basic: plover-login, ca: certificates/club.pem}",
    "Broker": """\
url: mqtts://broker.club.example
credential: shed-broker
keep_alive: 15s
tls: {ca: certificates/club.pem}""",
    "Button": """\
broker: shed
topic: alder/lathe/button
at: /act
is: pressed
wishes: acknowledge
printers: [kestrel]
who: the button at the lathe""",
    "Location": "{latitude: 53.35, longitude: -6.26}",
    "QuietHours": '{from: "22:00", before: "07:00", brightness: 20 %}',
    "RestingAt": '{from: sunset, before: "23:00", show: warm}',
    "Calibration": '{white: "#ffd8b0", gamma: 2.2}',
    "Draws": "{channel: 12 mA, idle: 1 mA}",
    "Supply": "{limit: 10 A, feeds: [door, rack], reserve: 1 A}",
    "Controller": """\
url: http://door.club.example
dialect: bars
pixels: 150
pitch: 1000/60 mm
identity: D-4""",
    "HeaderAccess": "{name: X-Door-Key, credential: door-key}",
    "LogIn": "{credential: plover-login, url: http://plover.club.example/enter, token_at: /pass}",
    "Poll": "{working: 5s, resting: 20s}",
    "Printer": """\
reader: pieces
broker: shed
with: {berth: kestrel}
messages:
  doing: alder/{berth}/doing
  snag: alder/{berth}/snag/+""",
    "Segment": """\
on: door
number: 1
first: 0
length: 120
printers: [kestrel, plover]
table: wall
share: rotate
each: 6s""",
    "Tls": "{ca: certificates/club.pem, certificate: certificates/lampwright.pem}",
    "TopicAddress": "{broker: loft, topic: alder/heron/log}",
    "UrlAddress": """\
{url: http://plover.club.example/ledger, access: {digest: plover-login}}""",
}
_RULES: Final = {
    "": """\
alarms:
  left-waiting: {when: {state: stopped}, on_delay: 5m, response: see what it wants}
prompts:
  collect: {when: {state: idle, progress: {at_least: 100 %}}, response: take the part out}
tables:
  wall:
    rules:
      - {name: left waiting, when: {alarm: left-waiting}, show: see-me}
      - {name: stopped, when: {state: stopped}, show: look-in}
      - {name: part to collect, when: {prompt: collect}, show: look-in}
      - {name: silent, when: {stale: true}, show: not-known}
      - {name: working, when: {state: processing}, show: filling}
      - {name: idle, when: {state: idle}, show: warm}
    otherwise: not-known
    expect:
      - given: {state: stopped, alarms: {left-waiting: acknowledged}, prompts: {collect: waiting}}
        shows: see-me
      - {given: {state: stopped, stale: true}, shows: look-in}
      - {given: {stale: true, prompts: {collect: waiting}}, shows: look-in}
      - {given: {state: processing, stale: true}, shows: not-known}
      - {given: {state: processing, progress: 40 %}, shows: filling}
      - {given: {state: idle, prompts: {collect: waiting}}, shows: look-in}
      - {given: {state: idle}, shows: warm}""",
    "Accept": """\
finding: overlap
table: wall
rule: silent
because: a printer that is not heard is looked at before its part is taken out""",
    "Alarm": """\
when: {reasons: {any: [material-empty, material-needed]}}
on_delay: 5s
off_delay: 10s
sequence: R
priority: high
cause: the spool ran out, or the filament slipped
response: load a spool
segments: [door-sill]
show: feed-me
escalate: {after: 5m, segments: [door-frame]}""",
    "Case": """\
given:
  state: stopped
  reasons: [material-empty]
  progress: 40 %
  alarms: {material-out: acknowledged}
  in_state: 20m
  local_time: "23:10"
shows: feed-me""",
    "Escalate": "{after: 5m, publish: {broker: shed, topic: alder/call}}",
    "Prompt": """\
when: {last-job: completed}
until: {platform-temperature: {below: 40 °C}}
response: take the part out""",
    "Raised": """\
state: {not: processing}
platform-temperature: {above: 40 °C}
reasons: {none: [material-empty], severity: {at_least: error}}
in_state: {at_least: 10m}
local_time: {from: "22:00", before: "06:00"}""",
    "Publish": "{broker: shed, topic: alder/call}",
    "Rule": """\
name: broken and still hot
when:
  state: {not: processing}
  platform-temperature: {above: 40 °C}
  reasons: {none: [material-empty], severity: {at_least: error}}
  local_time: {from: "22:00", before: "06:00"}
lasting: 10m
show: trouble""",
    "Table": """\
rules:
  - {name: silent, when: {stale: true}, show: not-known}
  - {name: idle, when: {state: idle, job: [no-value, completed]}, show: ready}
otherwise: not-known
expect:
  - {given: {state: idle, job: completed}, shows: ready}""",
}
_LEGEND: Final = {
    "": """\
roles: {healthy: "#00b060"}
scenes:
  warm: {says: resting, colour: 2700 K, brightness: 30 %}
  filling: {says: well, effect: gauge, colour: healthy, brightness: 60 %}
  not-known: {says: unknown, colour: neutral, brightness: 25 %, pattern: every-third}
  look-in: {says: notice, colour: abnormal, brightness: 60 %}
  see-me: {says: act, effect: flash, rate: slow, colour: abnormal, brightness: 80 %}""",
    "Roles": '{danger: "#ff2a1a", healthy: seagreen, neutral: 4000 K}',
    "Scene": """\
says: act
effect: steady
colour: action
brightness: 80 %
unacknowledged: {effect: flash, dimmer: 25 %}
returned: {pattern: every-third}""",
    "Variant": "{effect: flash, rate: slow, brightness: 100 %, dimmer: 25 %}",
}
_READER: Final = {
    "": """\
messages:
  doing: {kind: text, fresh_for: 40s, every: 10s, required: true}
  laid: {kind: text, fresh_for: 40s, every: 10s}
forms:
  - {in: laid, form: "{layer} of {layers} courses"}
facts:
  state: [{in: doing, values: {ashore: idle, laying: processing, aground: stopped}}]
  progress: [{ratio: [layer, layers]}]""",
    "AllOf": """\
all_of:
  - {in: snag, wildcard: 1, unless: ["", clear], values: {spool: material-empty-error}}
  - {in: doing, values: {warming: extruder-heating-report}, others: none}
absent: none""",
    "Also": "{at: /clamped, is: true}",
    "Ask": "{body: {pages: all}, every: 30s}",
    "Form": """\
in: line
form: "waiting at {layer} of {layers}"
gives: {state: stopped, job: processing-stopped}""",
    "Found": "{in: page, at: /duty/code, values: {7: idle, 12: processing, 21: processing}}",
    "Graded": "{at: /weight, values: {note: report, mild: warning, stern: error}}",
    "IsKeys": "{at_least: 60, at_most: 2500}",
    "Message": "{kind: json, fresh_for: 45s, every: 20s, required: true}",
    "Only": "{at: /on, is: warmth}",
    "Ratio": "{ratio: [layer, layers]}",
    "Request": "{method: POST, body: {turn: last}}",
    "SentAt": "{at: /sent, form: epoch ms}",
}
_DIALECT: Final = {
    "": """\
limits: {requests: 8/s}
codecs: {colour: hex, level: {to: [0, 4095]}, frame: {form: text}}
effects:
  steady: {name: plain}
  flash: [{name: toll, period: 1600ms}, {name: ring, period: 600ms}]
show:
  method: PUT
  path: /bars/{number}
  body: {paint: "{colour}", drive: "{level}", motion: "{effect}"}
paint:
  method: PUT
  path: /bars/{number}/cells
  body: {cells: {each: pixel, put: "{colour}", joined: ""}}
read:
  method: GET
  path: /bars
  list: /list
  match: {/bar: "{number}"}
  values: {/paint: colour, /drive: level, /motion: effect, /cells: pixels}""",
    "Bare": '{method: POST, path: /hoist, query: {side: "{number}"}}',
    "Codecs": "{colour: css, hue: {to: [0, 3600]}, number: {as: text, before: shelf-}}",
    "Colour": "{form: integer, order: GRB, level: folded}",
    "Count": "{from: 1, as: text}",
    "Effect": "{name: toll, period: 1600ms, worst: full}",
    "Effects": "{steady: {name: 0}, flash: [{name: 6, period: 600ms}, {name: 9, period: 1500ms}]}",
    "Flag": '{lit: "yes", dark: "no"}',
    "Frame": '{form: text, between: ","}',
    "Capture": """\
method: GET
path: /pennants/{number}/flown
kept: /cloth""",
    "Boot": """\
a_day: 3
read: {method: GET, path: /waking, values: {/paint: colour, /drive: level}}
write: {method: PUT, path: /waking, body: {paint: "{colour}", drive: "{level}"}}""",
    "Observed": "{method: GET, path: /waking, values: {/paint: colour, /drive: level}}",
    "Identify": "{method: GET, path: /who, identity: /name, pixels: /count}",
    "Keyed": '{at: /shelves, key: "{number}"}',
    "Limits": "{requests: 8/s, body: 1500 B, timeout: 3s, settles_in: 300ms}",
    "Read": """\
method: GET
path: /beads
query: {from: "{first}", to: "{last}"}
every: 15s
values: {/tint: colour, /lit: on, /habit: effect}
restart: {uptime: /woke_ago, unit: ms}""",
    "Reply": "{at: /done, is: true}",
    "Request": """\
method: PUT
path: /bars/{number}
body: {paint: "{colour}", drive: "{level}", motion: "{effect}"}
reply: {at: /done, is: true}""",
    "RestartMark": "{mark: /since}",
    "Time": "{unit: 100ms}",
    "Scale": '{to: [0, 100], round: down, as: text, after: " %"}',
    "ToldAt": "{at: /wink, is: true}",
    "Uptime": "{uptime: /awake, unit: s}",
}

EXAMPLES: Final[Mapping[str, Mapping[str, str]]] = {
    "site": _SITE,
    "rules": _RULES,
    "legend": _LEGEND,
    "reader": _READER,
    "dialect": _DIALECT,
}
