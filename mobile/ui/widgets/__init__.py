"""The app's own widgets, plain Kivy. Each module loads its own kv once, when first imported.

words    Words, Heading, Small            text that wraps and is as high as it needs
marks    Mark                             a drawn shape (``shape`` is a name of ``shapes.SHAPES``)
buttons  MainButton, SideButton, BareButton, ShapeButton, Chip, ChipGrid, ButtonRow
cards    Card, RowCard, Notice            boxes; a tappable list row; shape + words in a box
fields   TextField, NumberField, ChoiceField, SwitchField
keypad   Keypad, KeypadSheet              digits with one thumb; the sheet serves NumberFields
pages    Page, PageFrame, PageHeader, PageBody, PageFooter
banner   Banner                           one message over every screen
sheets   BottomSheet                      a panel from below, for choices and texts
circuit  CircuitView                      the circuit drawn; touches on posts, clamps, parts
painter  Typesetter, shape_instructions   shapes and texts of ``logic.diagram`` on a canvas

For fault-finding:

entry_pane  EntryPane                     one reading being entered under the picture
findings    FindingHead, SureBar, Said    a finding, how sure, and lines under a small head
ladder      LadderPicture                 the potential at each post along the loop
step_cards  StepCards                     the steps around the readings, answered in place
"""
