/* own_folder.h - a test that runs in a folder of its own: set-up and teardown for cmocka
 */
#ifndef PLYECHO_TEST_OWN_FOLDER_H
#define PLYECHO_TEST_OWN_FOLDER_H

/* Make a new folder and enter it; its name is kept in *state. */
int enter_folder(void **state);

/* Leave it, with all that is in it gone. */
int leave_folder(void **state);

#endif
