"""Every sentence a person reads, in one place, grouped by screen.

Each module holds constants: a word, a sentence, a template with {named} fields, or a map from a data word to the word
shown. They are used through their module (`from station.words import records as words`), never by importing the
constant itself, so that `language.speak` can put another language in their place. Nothing here imports from above.
"""
