# Pages that get installed; every `console` block in them runs in tests/docs.
dist_doc_DATA += \
	docs/dependencies.md \
	docs/procedure.md
