namespace coilwright::plan {}
