"""Counterfoil: the purchase book of a shop that buys secondhand precious metal. This is the table of contents.

A module imports only what stands below it on this page, and a test keeps the page true.

Faces: what people touch
    cli.serving              the command `serve`: the counter in a browser
    cli.slips                commands on a slip that becomes a purchase: schema, check, present
    cli.tasks                commands on what else is due beside reports: due, happened
    cli.reporting            commands on reports to the authorities: due, rates, make, sent, received
    cli.people               commands on people and on the shop's facts: staff list, add, left
    cli.keys                 commands on what opens the book: staff passphrase, reset, paper-key
    cli.payouts              commands on what became of the money: list, owed, paid, failed
    cli.margin               the margin of a slip on a terminal: its duties
    cli.lazily               a group of commands that imports a command only when it is called
    cli.laws                 commands on rule files that need no book: check, explain, schema, diff
    cli.explaining           duties in words, for a terminal: what each rule asks and how days were counted
    cli.adopting             the command that puts a rule file into force in a book
    cli.items                commands on one article: show, move, out, label
    cli.looking              commands that show slips: list and show
    cli.inquiries            commands that answer stolen-goods questions: search and dossier
    cli.processes            commands on requests of authorities: record, note, list, show, taken, returned
    cli.inspections          commands on inspections: open, shelf, sample, record, list
    cli.holds                commands on what may not leave yet: list, order, lift
    cli.undone               commands that undo or mend a slip: withdraw, void, correct
    cli.failing              what a command says when it stops: one sentence and an exit code
    cli.demonstration        the command `demo`: an invented shop with six weeks of purchases
    cli.days                 commands on the shop's day: close and sheet
    cli.papers               puts papers into files: in the folder that --out names
    cli.care                 the command `doctor`: how a book is kept on this machine
    cli.books                commands on a book as a whole: init, unlock, lock; book verify, seal
    cli.places               folders in which a book must not lie: on the network
    cli.opened               the book that a command works on: its folder, the clock, chance
    cli.scans                reads a barcode or typed lines into a slip's party
    cli.bench                commands that reckon at the bench: a density, a coating
    cli.assays               commands at the bench: what tests and marks can and cannot show
    cli.said                 how commands speak: aligned tables, one JSON document
    cli.given                what commands are given beside their options: documents
    cli.options              what every command may be told before or after its name: the book, JSON
    web.serving              starts the counter: address, certificate, hosts, log, a stop that finishes
    web.routes               every page and act of the counter, in the order of the navigation
    web.trays                the trays on the counter: open drafts, a new one begun, one given up
    web.pictures_page        pictures of a draft: taken or chosen at the counter, locked away at once
    web.reading_page         reading documents at the counter: scanner text, a photograph of the barcode
    web.slip_page            the slip page: one draft as the paper it becomes, saved by every post
    web.margin_page          the margin beside a slip: duties in order, each with the field that mends it
    web.items_page           the items of a slip as the page shows them
    web.parties              the people of a slip as the page shows them: what was read, what was typed
    web.evidence_form        the form of one test: its fields, words and cautions
    web.today_page           the day's page: what is owed, what may leave, what is due
    web.item_page            an article's own page, its people after a look
    web.printing             papers of one slip, drawn when they are asked for
    web.inquiry_page         stolen goods: words or a list against the book, the dossier, nothing found
    web.month_page           the month in pictures, each with its numbers in a table
    web.devices_page         the owner's page of devices: which there are, a new one, the end of one
    web.inspector            an inspector's sign-in: opened by an owner, read-only, ends with the entry he signs
    web.api                  what scales, label printers and other programs may ask, in JSON
    web.api_form             the form of what devices ask: calls, the OpenAPI document, faults
    web.people_page          who works here, and what each role may do
    web.rules_page           the rule files in force, and the adoption of another
    web.drawings             small pictures of numbers as SVG, readable in black and white
    web.signing_in           signing in and out, the pass-phrase again, the cover, the static files
    web.guard                the door: hosts, sizes, origins, roles, tokens, headers, faults, log lines
    web.asking               pages that ask for a pass-phrase and carry what was typed; the page of a fault
    web.problems             a fault as a program is told it, in the form of RFC 9457; the status of each
    web.visits               one request as a page sees it, and ways to answer
    web.counter              the running counter: book, keys, sessions, templates, the one writer
    web.passes               the passes of inspectors, in memory: who, on what power, until when
    web.throttle             how long one waits after pass-phrases and tokens that opened nothing
    web.sessions             who is signed in: sessions in memory, their limits, the cookie
    web.posted               what a browser posted, read in memory: forms, files, plain bodies
    web.paths                routes: which path is which page, for whom, and how much may be posted
    web.certificates         a certificate for the shop's own network, from an authority that is used once
    web.writer               the one thread that writes, first come first written
    demo.building            builds the demonstration shop: six weeks in an invented town
    demo.touring             what the demonstration says at its start and its end
    demo.tampering           a copy of the book, forged as well as anybody can who has the database
    demo.routine             what the shop does every day: receipts of reports in the morning
    demo.meanwhile           acts out what happens beside the visits: goods leaving or kept back
    demo.diary               what else happens in the six weeks: goods that leave or may not, orders
    demo.counter             acts out one visit at the counter: written, checked, offered, presented
    demo.written             the slip document that a clerk of the story would write for a visit
    demo.pictures            drawings in place of photographs: every article, face, document, thumb
    demo.visits              the visits of the story, in order: who comes when with what
    demo.worn                jewelry and watches of the demonstration: what was seen, read, measured
    demo.wares               tableware, coins, bars, a medal and broken pieces of the demonstration
    demo.people              the people of the demonstration
    demo.story               what the acted story carries along: the book, its clock
    demo.papers              the folder of papers that the demonstration prints
    demo.setting             where the demonstration plays: its shop, its people, its clock
    demo.bench               tests, weighings and measurements written short
Acts: one thing a shop does, start to end, in one transaction; each reads as one page
    acts.today               what the shop has before it today: slips, money owed, what may leave
    acts.month               one month in sums: money out, fine weight, spread, holds, evidence that disagreed
    acts.rates               how many reports of a month were late, and how many told something wrong
    acts.article             one article as the shop's own people see it, without its people
    acts.devices             devices that may speak to the counter: made, known by their token, ended
    acts.reaching            what an inspection reaches, one thing at a time; each look is an entry
    acts.showing             what an inspector is shown: the register since the last inspection, in one folder
    acts.inspecting          an inspection: its entry, sealed right after the last one, and its paper
    acts.shelving            holds the shelf against the book, both ways, and draws a sample from a seed
    acts.replying            fills the paper that answers a request of an authority
    acts.custody             goods that an authority takes, or that are given up, and that may come back
    acts.answering           answers a question of which nothing was found, with paper and extract
    acts.extracting          hands out part of the book with all a stranger needs to check it
    acts.vouching            what goes into an extract beside its entries: changes of the key
    acts.matching            matches what was stolen against what was bought, in anybody's words
    acts.undoing             a slip that comes to nothing: refused, withdrawn before recording
    acts.telling             tells an authority one item's whole history: the dossier
    acts.requests            the log of requests of authorities: what came, was decided, is kept
    acts.requested           what an authority asked of the shop, as values read once at the door
    acts.aftermath           what became of an item that is asked for after it left
    acts.staffing            people who come, leave or forgot a pass-phrase: keys file and book in the safe order
    acts.governing           the rule files in force in words, and what another would change
    acts.setting_up          what the owner enters about the shop: rule files adopted
    acts.happening           what happened that a rule file gives a name: tasks that it meets
    acts.tasking             what else is due beside reports: tasks, the shop's notice before an order ends
    acts.reporting           reports as living things: made, sent, delivered, received by the authority
    acts.drawing_up          the report as a paper: of one purchase, of a period, or nothing to report
    acts.filing              a report in the forms that programs read, and its fields after corrections
    acts.permitting          what an authority permits the shop, or lets it do with one item
    acts.correcting          corrects what an entry says, by a new entry; weighs its duties again
    acts.following           what follows from an event: holds that waited for it, worked out again
    acts.drafts              drafts of slips: kept encrypted from the first save on, each with its tray
    acts.recording           presents a slip to its seller and records the purchase
    acts.paying              what became of the money: owed when the purchase was recorded
    acts.opening             opens a new book, and books that exist
    acts.returning           a seller who was here before: which slips are his
    acts.looking             one opening of personal data: who looked at what, and why
    acts.listing             fills the papers about many slips: the day sheet
    acts.inquiring           answers a stolen-goods question: which items might be meant
    acts.handing_over        fills the papers of one slip from the book: the page to sign, the stub
    acts.wording             how values of the record read on a paper: plain words, with units
    acts.holding             an authority's order that holds items, and its end
    acts.scanning            what a document says by itself, read for a slip
    acts.leaving             where an item lies, and how it leaves: moved, sold, melted, returned
    acts.ordered             the orders of authorities that stand, and until when each holds an item
    acts.figures             how a test reads on a paper: its kind in words
    acts.drafting            a slip before it is presented: its random id, its data keys
    acts.gathering           reads one slip whole from the book: what was presented and recorded
    acts.examining           what the margin of a slip says: its assessments
    acts.arriving            goods by carrier are here when their slip is recorded: what waited begins
    acts.tallying            the earlier slips that a rule file's totals and counts need
    acts.closing             closes a shop's day and seals the book
    acts.events              which events the book knows of a slip, from which times run
    acts.owing               which reports are owed to whom, where each stands, which is late
Papers: values in, bytes out; no database, no clock
    reports.niem             a report to an authority as NIEM 6.0 XML
    reports.tabular          a report to an authority as data: CSV for a spreadsheet, JSON for a program
    reports.purchase         the purchase report: one slip in full, in the order its rule file asks
    reports.label            the bag label: which item lies in the bag, since when
    reports.inspection       what an inspector is shown on paper: register, stock, shelf check, findings
    reports.custody          the receipt for goods that an authority takes
    reports.answered         the answer to a request: what is given, refused or kept
    reports.hold_list        the hold list: what must stay in the shop, until when
    reports.negative         the negative answer: what was searched for, and that nothing was found
    reports.dossier          the dossier: the whole history of one item, drawn for one inquiry
    reports.declaration      the frozen slip that the seller signs
    reports.stub             the stub: what the seller takes home
    reports.day_sheet        the day sheet: every item of one day on a line, with the day's counts
    reports.authority        what goes to an authority: a period's purchases in full
    reports.goods            the blocks that several papers share: a field asked by a rule
    reports.strip            the fineness strip on paper, from 0 to 1000: what each test saw
    reports.page             the sheet every paper is set on: head and foot of every page, columns
    reports.printing         pages become a PDF file: text, lines, boxes, codes
    reports.codes            codes a scanner reads back: QR for seals, Code128 for item numbers
    reports.fonts            which font draws which character, and in which order
    reports.outlines         font files made ready for a paper
Keeping: disks, databases, keys
    handed.verify            checks an extract without the program that made it
    shop.settings            the owner's settings of one book: settings.toml in its folder
    shop.adopted             the rule files that a book has adopted, the shop's facts and the people
    shop.facts               dated facts about the shop: name, licence, address, agencies
    book.verifying           one check that proves everything, and everything calls it: `audit`
    book.triggers            makes the kept tables append-only inside the database, on SQLite
    book.rebuilding          makes the derived tables anew from the entries
    book.reading             reads a book back: entries
    book.pages               writes entries into a book: the only way in
    book.projections         derives the search tables from entries and their opened parts
    book.duty_rows           derives what is owed and what is held: rows of holds, tasks, reports, orders
    book.lines               one entry with what its parts say, as the derived tables are made from it
    book.words_index         the search index over item words: FTS5 on SQLite
    book.statements          INSERT statements compiled once per table and database
    book.forms_audit         audits the form of every entry: canonical bytes, members per kind
    book.engine              opens a book's database the one safe way: SQLite by default
    book.chain_audit         audits the chain of a whole book: numbers, links, leaves, stored nodes
    book.signing_keys        which keys sign a book's seals, and from which entry on
    book.tables              what a book keeps (never changed, never deleted)
    book.faults              what an audit found, as values
    vault.rows               rows locked away: the parts of one entry that belong to one class
    vault.pictures           pictures locked away, one file each
    vault.keys_file          the keys file of a book: who can open it, and what an owner does to it
    vault.slots              the layout of a keys file: its slots, what wraps what
    vault.paper_key          the key on paper: how 160 random bits are written
    vault.keeper             the key keeper: a process that holds a book's opened keys
    vault.opened             the keys of a book while it is open
    vault.locks              how bytes are locked: which published primitives are used
    vault.durable_files      files that are whole after a power cut
    photographs              the barcode on the back of a licence, found in a photograph
    shipped                  where the files that are only data lie: beside the code in a wheel
The words: plain values and sums over them; no disk, clock, chance or network
    likeness.ranking         which articles of a book are most like what is asked for
    likeness.comparing       how far two descriptions agree, with every reason
    likeness.chance          how many articles of a book would agree as much by chance
    likeness.articles        the traits of an item as the shop recorded it, and their index tokens
    likeness.traits          what a description says, in features that can be compared
    likeness.lexicon         words for one thing, as victims, the police and the trade use them
    slip.filling             what was read off a document, written into the fields of a slip's form
    slip.searching           the words under which an item is found, and the words of a question
    slip.rebuilding          builds a slip, or one item of it
    slip.fields              a slip document as the fields of a form, and back
    slip.unfinished          a slip that is still being written, as far as it goes
    slip.reading             reads a slip document, JSON or TOML, into a `Slip`: once, at the door
    slip.schema              the JSON Schema (draft 2020-12) of a slip document, format "slip/0"
    slip.parts               the named parts that a slip becomes in the book
    slip.facts               what the law room and the assay room read of a slip
    slip.writing             writes a slip back as the plain document that `reading` reads
    slip.completeness        what contradicts itself in a slip that reads well
    slip.editing             what one button of the slip page does to the form's fields
    slip.shorthand           reads a line of trade shorthand into the fields of an item
    slip.shorthand_words     words of the trade's shorthand and the field that each fills
    slip.describing          whether an item's description would let another person find the article
    slip.checking            turns a JSON Schema into a checker that names every fault by field
    slip.building            builds the values of `document` from a document that the schema has passed
    slip.document            the slip as values: parties, items, offers, declaration
    law.schema               the JSON Schema of a rule file
    law.cases                worked cases beside a rule file: facts in, expected answers out
    law.expecting            what a key of a worked case looks at, and how answers are compared
    law.case_orders          the order of an authority in a worked case: what was told of it
    law.case_names           facts and events of a worked case that nobody knows are said to be wrong
    law.files                a rule file: bytes in, rules out, or every fault at once with its line
    law.piecing              a text that is not TOML as a whole, read table by table as far as it goes
    law.mending              what to write where a text stops being TOML
    law.references           names that the rules of one file use, and that the file must declare
    law.together             rule files that are to govern one shop together: what does not fit
    law.differing            what changes for the shop between two rule files, in sentences
    law.worded               what a rule's table says, in words: lengths of time, deadlines, conditions
    law.locating             where each key of a TOML text stands
    law.duties               what the rule files ask of one purchase, at one moment
    law.telling              what goes with the duties of a purchase so that they can be followed
    law.layers               one layer: a rule file held against one purchase
    law.scoping              of whom a rule file speaks: its subjects, what it covers and exempts
    law.timing               what the rules with a clock make of one purchase: holds, reports owed, data kept
    law.tasks                what else must be done in time: moving goods, registering staff
    law.orders               an authority's order: until when it holds an item, what lengthens or ends it
    law.reports              reports: what is owed to whom, and by when
    law.contradicting        answers of several layers that cannot stand together, each named with its rules
    law.found                what the layers have said so far, before it is combined
    law.tallies              totals and counts over earlier slips
    law.displacing           which rules give way to which, where several files speak about one purchase
    law.holds                holds: until when which acts on an item are forbidden
    law.permitting           whether an act may be done now with an item, over all its holds and orders
    law.judging              one rule held against the facts of one subject
    law.held                 what is known of a hold or an order on an item, as plain values
    law.combining            how the answers of several layers combine; the stricter wins
    law.clocks               when events happened, and when periods and deadlines end
    law.deadlines            one deadline counted from one start
    law.building             from the checked tables of a rule file to rules
    law.building_declared    from the checked tables of a rule file to what it declares
    law.building_calendar    from the checked tables of a rule file to its calendar and its recipients
    law.building_times       from the checked tables that state times to rules with a clock
    law.building_parts       what building every rule shares: the members that all rules have
    law.terms                the terms of a rule file's conditions: facts by name
    law.form                 the form of a rule file: every table and key that may be written
    law.form_declared        the tables by which a rule file declares questions, events and more
    law.form_times           the tables of a rule file that state times
    law.form_parts           what all tables of a rule file share: names, sentences, conditions
    law.shapes               shapes of a rule file's tables
    law.answers_times        answers that have a clock: reports that are owed, data that are kept
    law.answers              what the rules ask of one purchase: duties
    law.rules_times          the rules that have a clock: how long acts are forbidden
    law.rules                a rule file once it has been read: frozen values that cannot be wrong
    law.periods              periods: a length of time, the event from which it runs, other readings
    law.declared             what a rule file declares of its own, and the facts it adds
    law.counting             days, working days, hours, months and years
    law.conditions           conditions: a fact, one comparison, one wanted value; joined by all
    law.facts                the facts that a rule file may ask about: their names, their types
    law.holiday_lists        named lists of days off, as the `holidays` library computes them
    law.calendars            which days are not working days, and on whose word
    assay.weighing           the assessment of one article: what all its tests together can
    assay.concluding         what follows: construction, standing, what may be paid for
    assay.owing              which tests are still owed, and what the seller allows
    assay.bars               what each test allows, as bars of the fineness strip
    assay.value              what the metal in an article is worth and what the shop offers for it
    assay.melts              a melt lot after its assay: what had been thought, against what the metal showed
    assay.buying             what may be bought on which assessment: the owner's limits, held against one price
    assay.strip              the fineness strip: one picture of an article's evidence
    assay.silver_acid        the rule by which streaks under the acid for silver speak for or against
    assay.metals             which metal the tests saw, how fine, and what in it is out of place
    assay.judging            the rules by which other tests speak for or against what the surface shows
    assay.cores              what may lie under the metal read: densities, conductance, tungsten
    assay.coats              which coatings a surface reading could come from
    assay.sheet              the working sheet on which one article's evidence is put together
    assay.stones             what the stones on an article weigh: as entered, else estimated from their sizes
    assay.findings           what each single test showed, before they are put together
    assay.touchstone         the touchstone: what a streak under acid allows, how far its acid can be believed
    assay.evidence           the evidence of one item: what each test showed, by whom, when
    assay.evidence_schema    the form of an evidence document as JSON Schema (draft 2020-12)
    assay.layers             layers of gold: how thick, how much gold, how a reading of them would look
    assay.xray               how deep X-ray readings see and what they say of layers
    assay.attenuation_table  how strongly each metal weakens X-rays (made by tests/make_attenuation.py)
    assay.conductance        eddy currents: how deep they reach and what a conductance shuts out
    assay.alloys             what karat golds and the metals under them are made of
    assay.density            density: what weighing in air and in water says, and of what alloys
    assay.assessments        what an assessment is made of: values only
    assay.policy             the owner's policy: how far his instruments are trusted, from which weights tests decide
    assay.checks             the owner's check log: an instrument read again and again on a known piece
    assay.marks              what is stamped on an article, read as claims
    assay.worn               stamps of which some characters could not be read: what the whole may have been
    assay.stamps             the grammar of a stamp: its letters taken apart and put together again
    assay.marks_table        the marks as data: what stamped numbers and words claim
    assay.tolerances         how far below its mark the law lets an article lie, by country and date of making
    identity.zone            the machine-readable zone of a passport or card, as typed
    identity.wedge           what a scanner that types like a keyboard gave of a licence's barcode
    identity.licence         what the barcode of an American licence or identity card says
    identity.names           names and numbers brought to a form in which equal ones are equal
    identity.kinds           kinds of documents that people show to prove who they are
    identity.ages            how old somebody is on a day
    chain.proof_files        proof files: one entry's place in a book, with the seal that fixes it
    chain.seals              seals: the signed state of a book at one size
    chain.parts              parts: what an entry holds back behind a digest
    chain.entries            one line of a book: which members it has, how it is made
    chain.tree               the tree over a book's entries: RFC 9162 section 2.1 with SHA-256
    chain.kinds              the kinds of entry, and what the public part of each must and may hold
    chain.canonical          the one way in which a value is written as bytes
    moments                  moments: a local time with its zone, and a moment with only an offset
    measures                 weights, fineness and money: whole numbers with their unit
    errors                   what can go wrong, and who can put it right
"""
