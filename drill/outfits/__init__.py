"""What is worn at an event or in a show, and who has it: before anybody is placed.

Tables: Worn, Excused.
Start at `services.wardrobe.wardrobe_of`.
Stands on: people, equipment, shows, events.
"""
