"""The demonstration shop: an invented town in which a book is kept for six weeks. Nothing else imports it."""

from ledger.demo.building import build as build
