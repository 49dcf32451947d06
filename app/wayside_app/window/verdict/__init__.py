"""Area 3: do hand and sound agree?"""
