"""Parts of the train laid along what arrives: closed forms, no clock."""
